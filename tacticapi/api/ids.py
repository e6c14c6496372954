"""Ids of kept things in an address: UUIDs (RFC 9562) in their usual text form. Anything else is no address."""

from typing import Any

from werkzeug.routing import BaseConverter

NAME = "id"


class IdConverter(BaseConverter):
    """Takes a UUID in lower case, as answers write it."""

    regex = "[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"


def described(converter: IdConverter) -> dict[str, Any]:
    """The JSON Schema of such an id."""
    return {"type": "string", "format": "uuid"}
