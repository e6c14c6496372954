"""A body ▶ a Situation, outside a request too."""

from typing import Any

from marshmallow import ValidationError

from tacticapi.api.problems import faults_of
from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.api.strict_json import strict_json
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.knowledge import Fault


class SituationError(ValueError):
    """The body is no situation. `faults` holds all that was found, paths inside the body."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


def read_situation(body: Any, rulebook: Rulebook) -> Situation:
    """Read a body that JSON made. Raises SituationError with every fault."""
    try:
        situation: Situation = SituationSchema(rulebook=rulebook).load(body)
    except ValidationError as error:
        raise SituationError(list(faults_of(error.messages, body))) from None
    return situation


def situation_of_json(body: bytes, rulebook: Rulebook) -> Situation:
    """Read the JSON text of a situation. Raises StrictJsonError or SituationError."""
    return read_situation(strict_json(body), rulebook)
