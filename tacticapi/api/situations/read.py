"""A body ▶ a Situation, outside a request too."""

from typing import Any

from marshmallow import ValidationError

from tacticapi.api.problems import faults_of
from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.api.strict_json import strict_json
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.knowledge import Fault

NO_CLUB = "no opponent_id: it names a player of a club, which only the service knows"


class SituationError(ValueError):
    """The body is no situation. `faults` holds all that was found, paths inside the body."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


def read_situation(body: Any, rulebook: Rulebook) -> Situation:
    """Read a body that JSON made. Raises SituationError with every fault.

    Nothing is kept here, so it may name no kept opponent.
    """
    if isinstance(body, dict) and body.get("opponent_id") is not None:
        raise SituationError([Fault(("opponent_id",), body["opponent_id"], NO_CLUB)])
    try:
        situation: Situation = SituationSchema(rulebook=rulebook).load(body)
    except ValidationError as error:
        raise SituationError(list(faults_of(error.messages, body))) from None
    return situation


def situation_of_json(body: bytes, rulebook: Rulebook) -> Situation:
    """Read the JSON text of a situation. Raises StrictJsonError or SituationError."""
    return read_situation(strict_json(body), rulebook)
