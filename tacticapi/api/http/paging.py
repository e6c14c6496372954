"""Return lists in pages: {"items": [...]} and a Link to the next page (RFC 8288)."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from operator import attrgetter
from typing import Any, TypeVar
from urllib.parse import urlencode

from flask import Response, request
from marshmallow import fields
from marshmallow.validate import ContainsNoneOf, Length, Range

from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import answer
from tacticapi.api.http.fields import Shape, Time, a_choice, options
from tacticapi.api.http.problems import refuse
from tacticapi.club import is_id
from tacticapi.rulebook.files import Fault

PAGE_SIZE = 50
MAX_PAGE_SIZE = 100
_CURSOR = "a cursor from a Link header of this list"
ORDERS = ("created_at", "-created_at", "updated_at", "-updated_at")
BETWEEN = "~"  # separates the time and the id of a cursor
MAX_SEQUENCE_DIGITS = 9  # digits
MAX_SOUGHT_LENGTH = 200
_SOUGHT = f"a string of 1 to {MAX_SOUGHT_LENGTH} characters without NUL"

Item = TypeVar("Item")


class PlainInteger(fields.Integer):
    """A whole number in a query: plain digits, between two bounds."""

    def __init__(self, says: str, low: int = 0, high: int = 9999, **told: Any) -> None:
        expected = f"a whole number from {low} to {high}"
        told = options(expected, says=says, null=False, **told)
        super().__init__(validate=Range(low, high, error=expected), **told)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> int:
        if not (isinstance(value, str) and value.isascii() and value.isdigit() and len(value) <= 4):
            raise self.make_error("invalid")
        return int(value)


class SearchText(fields.String):
    """A string to search for literally in a list, safe to send to a database."""

    def __init__(self, says: str) -> None:
        checks = [Length(1, MAX_SOUGHT_LENGTH, error=_SOUGHT), ContainsNoneOf("\x00", error=_SOUGHT)]
        super().__init__(validate=checks, metadata={"description": f"{says} Default: all."})


class PageQuery(Shape):
    """The size and start of a page."""

    page_size = PlainInteger("Items per page.", 1, MAX_PAGE_SIZE, default=PAGE_SIZE)
    cursor = fields.String(
        validate=Length(1, 200, error=_CURSOR),
        metadata={
            "description": "Where the page begins, taken from the Link header of the previous page. Default: the start."
        },
    )


class SortedQuery(PageQuery):
    """A page query with a sort order and a time of change."""

    sort = a_choice(ORDERS, "The time to sort by; with a minus sign, newest first.", default=ORDERS[0])
    updated_since = Time(says="Only items changed at this time or later. Default: all.", null=False)


def paged(
    items: Sequence[Item], query: dict[str, Any], key: Callable[[Item], str], present: Callable[[Item], Any]
) -> Response:
    """Respond with one page; `key` is an item's stable name. Refuse a cursor that names no item (422)."""
    start = 0
    if "cursor" in query:
        names = [key(item) for item in items]
        if query["cursor"] not in names:
            refuse("invalid-query", faults=[Fault(("cursor",), query["cursor"], _CURSOR)])
        start = names.index(query["cursor"]) + 1
    return one_page(query, items[start : start + query["page_size"] + 1], present, key)


def kept_page(
    query: Mapping[str, Any], find: Callable[..., Sequence[Item]], present: Callable[[Item], dict[str, Any]], *at: str
) -> Response:
    """Respond with one page of what `find` returns for the query's filters, in the club or in the resource `at`.

    A cursor is an id; in a list sorted by changes, also the time of the change.
    """
    wanted = {"after": None, **query}
    size, cursor, since = wanted.pop("page_size"), wanted.pop("cursor", None), wanted.pop("updated_since", None)
    by_change = query.get("sort", "").endswith("updated_at")
    if since is not None:
        wanted["since"] = since
    if cursor is not None:
        wanted |= _place(cursor) if by_change else {"after": cursor}
        if not is_id(wanted["after"] or ""):
            refuse("invalid-query", faults=[Fault(("cursor",), cursor, _CURSOR)])
    found = find(*here(), *at, limit=size + 1, **wanted)
    return one_page(query, found, present, _changed_at if by_change else attrgetter("id"))


def _changed_at(item: Any) -> str:
    return f"{item.updated_at.isoformat()}{BETWEEN}{item.id}"


def _place(cursor: str) -> dict[str, Any]:
    """Return the time and the id in such a cursor; empty if it is invalid."""
    time, _, id = cursor.partition(BETWEEN)
    try:
        at = datetime.fromisoformat(time)
    except ValueError:
        return {}
    return {"after": id, "at": at} if at.tzinfo else {}


def one_page(
    query: Mapping[str, Any], found: Sequence[Item], present: Callable[[Item], Any], key: Callable[[Item], Any]
) -> Response:
    """Respond with one page of `found`, which contains one extra item if there is a next page."""
    size = query["page_size"]
    response = answer({"items": [present(item) for item in found[:size]]})
    if len(found) > size:
        names = {**request.args.to_dict(), "cursor": str(key(found[size - 1]))}
        response.headers["Link"] = f'<{request.script_root}{request.path}?{urlencode(names)}>; rel="next"'
    return response


def sequence_cursor(cursor: str | None) -> int:
    """Return the sequence number in an entry cursor; 0 without a cursor."""
    if cursor is None:
        return 0
    if not (cursor.isascii() and cursor.isdigit() and len(cursor) <= MAX_SEQUENCE_DIGITS):
        refuse("invalid-query", faults=[Fault(("cursor",), cursor, _CURSOR)])
    return int(cursor)


def page_schema(item: type[Shape]) -> Shape:
    """Return the shape of one page of these items."""
    name = item.__name__.removesuffix("Schema") + "Page"
    items = fields.List(fields.Nested(item), required=True)
    return Shape.from_dict({"items": items}, name=name)()  # type: ignore[return-value]


def listed(query: dict[str, Any], name: str, known: Iterable[str]) -> str | None:
    """Return a filter's value, None if absent. Refuse a value that is not in the rulebook (422)."""
    wanted: str | None = query.get(name)
    words = list(known)
    if wanted is not None and wanted not in words:
        refuse("invalid-query", faults=[Fault((name,), wanted, f"one of {', '.join(words)}")])
    return wanted
