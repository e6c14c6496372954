"""The facts of a player or a match: checked as those of a situation, and kept as they were posted."""

from collections.abc import Mapping
from typing import Any

from tacticapi.api.situations.profiles import Profile


class KeptProfile(Profile):
    """An object of context, own or opponent that loads as it was posted, without what is null."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> dict[str, Any]:
        super()._deserialize(value, attr, data, **kwargs)
        return {key: item for key, item in value.items() if item is not None}
