"""What one running application holds: the rulebook, the adviser, and the request schemas bound to that rulebook."""

from dataclasses import dataclass, field
from typing import Any, cast

from flask import current_app
from marshmallow import Schema

from tacticapi.advice import Adviser
from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.domain.rulebook import Rulebook

EXTENSION = "tacticapi"


@dataclass(slots=True)
class Deployment:
    """Made once a process by `create_app`."""

    adviser: Adviser
    _schemas: dict[Any, Schema] = field(default_factory=dict)

    @property
    def rulebook(self) -> Rulebook:
        """The rules that this process answers by."""
        return self.adviser.rulebook

    def schema(self, of: type[Schema]) -> Schema:
        """The schema ready to load, made once; that of a situation knows the rulebook's vocabulary."""
        if of not in self._schemas:
            self._schemas[of] = of(rulebook=self.rulebook) if issubclass(of, SituationSchema) else of()
        return self._schemas[of]


def deployment() -> Deployment:
    """That of the application that answers this request."""
    return cast(Deployment, current_app.extensions[EXTENSION])
