"""The objects `context`, `own` and `opponent`: their names are the vocabulary's, their values are checked by kind."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from tacticapi.api.situations.messages import messages
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.posted import fact_faults, kinds_of, profile


class Profile(fields.Field[dict[str, Any]]):
    """An object whose names are the vocabulary's items of one subject; what is null is left out as unknown."""

    def __init__(self, subject: str, *, says: str) -> None:
        super().__init__(allow_none=True, metadata={"description": says})
        self.subject = subject
        self._kinds: Mapping[str, ObservationKind] | None = None

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise ValidationError("an object")
        if self._kinds is None:
            self._kinds = kinds_of(self.root.rulebook, self.subject)  # type: ignore[union-attr]
        if found := fact_faults(self.subject, value, self._kinds):
            raise ValidationError(messages(found))
        return profile(value)
