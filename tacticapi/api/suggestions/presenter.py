"""Advice ▶ the JSON of the answer. Keys stand in the order of the contract; figures are rounded here and only here."""

from typing import Any

from tacticapi.api.tactics.addresses import picture_address
from tacticapi.domain.advice import Advice, Changed, Gain, Look, Reason, Safety, SourceLine, Suggestion
from tacticapi.domain.belief import Belief, Contribution
from tacticapi.domain.court_note import CourtNote

GAIN_DIGITS = 4
CHANCE_DIGITS = 3
LOG_ODDS_DIGITS = 2


def advice_body(advice: Advice, advice_id: str) -> dict[str, Any]:
    """The whole answer. What is withheld is null or empty, never missing."""
    return {
        "advice_id": advice_id,
        "moment": advice.moment.value,
        "rulebook": {"version": advice.version, "digest": advice.digest},
        "safety": [_safety(line) for line in advice.safety],
        "plan": advice.plan.value if advice.plan else None,
        "plan_why": advice.plan_why,
        "score": advice.score,
        "suggestions": [_suggestion(suggestion) for suggestion in advice.suggestions],
        "look_for": [_look(look) for look in advice.look_for],
        "held_back": [
            {"tactic": held.tactic, "reason": held.reason.value, "why": held.why} for held in advice.held_back
        ],
        "unused": [
            {
                "observation": unused.observation,
                "ref": unused.ref,
                "what": unused.what,
                "why": unused.why,
                "text": unused.text,
            }
            for unused in advice.unused
        ],
        "beliefs": [belief_body(belief) for belief in advice.beliefs],
        "notice": list(advice.notice),
        "changed": [_changed(change) for change in advice.changed],
    }


def belief_body(belief: Belief) -> dict[str, Any]:
    """One belief with what moved it, strongest first."""
    return {
        "trait": belief.trait,
        "wing": belief.wing,
        "probability": _rounded(belief.probability, CHANCE_DIGITS),
        "prior": _rounded(belief.prior, CHANCE_DIGITS),
        "because": [_contribution(contribution) for contribution in belief.contributions],
    }


def source_body(source: SourceLine) -> dict[str, Any]:
    """Who says so."""
    return {"status": source.status, "key": source.key, "citation": source.citation, "backs": source.backs}


def _safety(line: Safety) -> dict[str, Any]:
    return {
        "tactic": line.tactic,
        "say": line.say,
        "why": line.why,
        "caution": line.caution,
        "alone": line.alone,
        "sources": [source_body(source) for source in line.sources],
    }


def _court(note: CourtNote) -> dict[str, Any]:
    return {"figure": note.figure, "text": note.text, "posted": note.posted}


def _suggestion(suggestion: Suggestion) -> dict[str, Any]:
    return {
        "rank": suggestion.rank,
        "tactic": suggestion.tactic,
        "category": suggestion.category,
        "title": suggestion.title,
        "say": suggestion.say,
        "why": suggestion.why,
        "because": [_reason(reason) for reason in suggestion.because],
        "rests_on": [
            {
                "trait": rest.trait,
                "wing": rest.wing,
                "probability": _rounded(rest.probability, CHANCE_DIGITS),
                "read": rest.read,
            }
            for rest in suggestion.rests_on
        ],
        "gain": _gain(suggestion.gain),
        "not_if": suggestion.not_if,
        "stop_when": suggestion.stop_when,
        "risk": suggestion.risk,
        "caution": suggestion.caution,
        "targets": [{"court": t.court, "spot": t.spot, "wing": t.wing} for t in suggestion.targets],
        "source": source_body(suggestion.source),
        "sources": [source_body(source) for source in suggestion.sources],
        "coaches_differ": suggestion.coaches_differ,
        "picture": picture_address(suggestion.tactic, suggestion.drawn_for),
        "court": suggestion.court and _court(suggestion.court),
    }


def _look(look: Look) -> dict[str, Any]:
    return {
        "what": look.what,
        "asks": look.asks,
        "how": look.how,
        "worth": _rounded(look.worth, GAIN_DIGITS),
        "trait": look.trait,
        "wing": look.wing,
    }


def _changed(change: Changed) -> dict[str, Any]:
    return {
        "what": change.what,
        "text": change.text,
        "trait": change.trait,
        "wing": change.wing,
        "before": _rounded(change.before, CHANCE_DIGITS),
        "after": _rounded(change.after, CHANCE_DIGITS),
        "observations": list(change.observations),
    }


def _reason(reason: Reason) -> dict[str, Any]:
    """A reason with what was posted: the way of saying stands between what and trait."""
    return {
        "text": reason.text,
        "observation": reason.observation,
        "ref": reason.ref,
        "what": reason.what,
        **reason.said,
        "trait": reason.trait,
        "wing": reason.wing,
        "log_odds": _rounded(reason.log_odds, LOG_ODDS_DIGITS),
    }


def _contribution(contribution: Contribution) -> dict[str, Any]:
    return {
        "text": contribution.text,
        "what": contribution.what,
        "observations": list(contribution.observations),
        "phase": contribution.phase.value,
        "chances": _rounded(contribution.chances, LOG_ODDS_DIGITS),
        "log_odds": _rounded(contribution.log_odds, LOG_ODDS_DIGITS),
    }


def _gain(gain: Gain) -> dict[str, Any]:
    return {
        "point": _rounded(gain.point, GAIN_DIGITS),
        "match": _rounded(gain.match, GAIN_DIGITS),
        "match_low": _rounded(gain.match_low, GAIN_DIGITS),
        "match_high": _rounded(gain.match_high, GAIN_DIGITS),
    }


def _rounded(value: float | None, digits: int) -> float | None:
    """Rounded, and never minus nought."""
    return None if value is None else round(value, digits) + 0.0
