"""Lists in pages: {"items": [...]}, and a Link to the next page (RFC 8288)."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeVar
from urllib.parse import urlencode

from flask import Response, request
from marshmallow import fields
from marshmallow.validate import Length, Range

from tacticapi.api.nouns import answer
from tacticapi.api.problems import INVALID_QUERY, refuse
from tacticapi.api.shapes import Shape
from tacticapi.knowledge import Fault

PAGE_SIZE = 50
LARGEST_PAGE = 100
_SIZE = f"a whole number from 1 to {LARGEST_PAGE}"
_CURSOR = "the cursor of a Link that this list gave"

Item = TypeVar("Item")


class Digits(fields.Integer):
    """A whole number in plain digits."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> int:
        if not (isinstance(value, str) and value.isascii() and value.isdigit() and len(value) <= 4):
            raise self.make_error("invalid")
        return int(value)


class PageQuery(Shape):
    """How much of a list is wanted, and from where."""

    page_size = Digits(
        load_default=PAGE_SIZE,
        validate=Range(1, LARGEST_PAGE, error=_SIZE),
        error_messages=dict.fromkeys(("invalid", "null"), _SIZE),
        metadata={"description": "Items a page."},
    )
    cursor = fields.String(
        validate=Length(1, 200, error=_CURSOR),
        metadata={"description": "Where the page begins, as the Link of the page before says. Absent: at the start."},
    )


def paged(
    items: Sequence[Item], query: dict[str, Any], key: Callable[[Item], str], present: Callable[[Item], Any]
) -> Response:
    """Answer with one page. `key` names an item for good, so pages stay whole where items come or go.

    A cursor that names no item of the list is refused with 422.
    """
    start = 0
    if "cursor" in query:
        places = (place for place, item in enumerate(items) if key(item) == query["cursor"])
        place = next(places, None)
        if place is None:
            refuse(INVALID_QUERY, faults=[Fault(("cursor",), query["cursor"], _CURSOR)])
        start = place + 1
    page = items[start : start + query["page_size"]]
    response = answer({"items": [present(item) for item in page]})
    if start + len(page) < len(items):
        names = {**request.args.to_dict(), "cursor": key(page[-1])}
        response.headers["Link"] = f'<{request.path}?{urlencode(names)}>; rel="next"'
    return response


def page_schema(item: type[Shape]) -> Shape:
    """The shape of one page of these items."""
    name = item.__name__.removesuffix("Schema") + "Page"
    items = fields.List(fields.Nested(item), required=True)
    return Shape.from_dict({"items": items}, name=name)()  # type: ignore[return-value]


def listed(query: dict[str, Any], name: str, known: Iterable[str]) -> str | None:
    """The value of a filter, None where it is absent. Refuses with 422 what the rulebook does not know."""
    wanted: str | None = query.get(name)
    words = list(known)
    if wanted is not None and wanted not in words:
        refuse(INVALID_QUERY, faults=[Fault((name,), wanted, f"one of {', '.join(words)}")])
    return wanted
