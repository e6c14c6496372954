"""A posted situation that names a kept opponent: advised on from where earlier matches against them ended."""

from dataclasses import replace

from tacticapi.advice import Trace
from tacticapi.api.auth import club_id, require
from tacticapi.api.deployment import deployment, kept_services
from tacticapi.api.problems import NOT_FOUND, refuse
from tacticapi.club import Refused
from tacticapi.club.dossier import Begun, begun, told_apart
from tacticapi.domain.advice import Advice
from tacticapi.domain.situation import Situation

SCOPE = "advise"


def advised(posted: Situation) -> Advice:
    """The advice on a posted situation. Ends the request for an opponent whom the caller's club does not have."""
    start = _begun(posted)
    return _told(deployment().adviser.recommend(start.asked), start)


def traced(posted: Situation, tactic: str | None) -> Trace:
    """The same with its trace. Raises KeyError for an unknown tactic."""
    start = _begun(posted)
    trace = deployment().adviser.trace(start.asked, tactic)
    return replace(trace, advice=_told(trace.advice, start))


def _begun(posted: Situation) -> Begun:
    """What names no opponent never reaches the database."""
    if posted.opponent_id is None:
        return Begun(posted)
    require(SCOPE)
    try:
        return begun(kept_services(), club_id(), posted)
    except Refused as refused:
        refuse(NOT_FOUND, faults=refused.faults)


def _told(advice: Advice, start: Begun) -> Advice:
    told = told_apart(advice, start.asked, deployment().rulebook)
    return replace(told, notice=(start.notice, *told.notice)) if start.notice else told
