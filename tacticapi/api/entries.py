"""What the entries of a match share: the links to other entries, receipts, and pages of them."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from flask import Response, request
from marshmallow import fields

from tacticapi.api.auth import club_id
from tacticapi.api.conditional import tag_of, tagged, unchanged
from tacticapi.api.deployment import kept_services
from tacticapi.api.fields import Text
from tacticapi.api.nouns import answer
from tacticapi.api.once import once
from tacticapi.api.paging import kept_page, sequence_cursor
from tacticapi.api.problems import INVALID_BODY, refuse
from tacticapi.api.shapes import Shape
from tacticapi.club import Entry, entries, matches
from tacticapi.club.entries import EntryKind
from tacticapi.knowledge import Fault

LONGEST_ID = 36
SUPERSEDES = "Id of the entry in whose place this one stands from now on. Absent: a new entry."
WITHDRAWS = "Id of the entry that is taken back; nothing else stands beside it. Absent: none."
_ALONE = "nothing beside withdraws"

Added = TypeVar("Added")


class LinksSchema(Shape):
    """An entry that corrects or takes back another; the history stays."""

    supersedes = Text(LONGEST_ID, says=SUPERSEDES)
    withdraws = Text(LONGEST_ID, says=WITHDRAWS)


class WithdrawalSchema(Shape):
    """Takes an entry back."""

    withdraws = Text(LONGEST_ID, required=True, says=WITHDRAWS)


class ReceiptSchema(Shape):
    """What was added."""

    id = fields.UUID(required=True, metadata={"description": "Id of the entry."})
    sequence = fields.Integer(
        required=True, metadata={"description": "Its place in the match; also the match's revision now."}
    )
    recorded_at = fields.AwareDateTime(required=True, metadata={"description": "When it was added."})


class EntrySchema(ReceiptSchema):
    """An entry as it is kept. Which member holds what was posted is the noun's."""

    supersedes = fields.UUID(
        required=True, allow_none=True, metadata={"description": "The entry that it stands in the place of."}
    )


def as_posted(says: str) -> fields.Dict:
    """What was posted, as it was posted."""
    return fields.Dict(
        required=True, allow_none=True, metadata={"description": f"{says}; null takes the superseded one back."}
    )


def with_links(posted: Mapping[str, Any]) -> tuple[dict[str, Any], str | None, str | None]:
    """What was posted without what is null, the entry that it supersedes, the entry that it withdraws.

    Ends the request where a link is no text, and where anything stands beside a withdrawal.
    """
    given = {name: value for name, value in posted.items() if value is not None}
    for name in ("supersedes", "withdraws"):
        if not isinstance(given.get(name, ""), str):
            refuse(INVALID_BODY, faults=[Fault((name,), given[name], "the id of an entry")])
    supersedes, withdraws = given.pop("supersedes", None), given.pop("withdraws", None)
    if withdraws is not None and (given or supersedes is not None):
        refuse(INVALID_BODY, faults=[Fault(("withdraws",), withdraws, _ALONE)])
    return given, supersedes, withdraws


def made(body: dict[str, Any]) -> Response:
    """201 for a new entry, with its address."""
    response = answer(body, 201)
    response.headers["Location"] = f"{request.path}/{body['id']}"
    return response


def receipt_body(receipt: Any) -> dict[str, Any]:
    """A receipt, or an entry's part that is one."""
    return {"id": receipt.id, "sequence": receipt.sequence, "recorded_at": receipt.recorded_at.isoformat()}


def entry_body(entry: Entry, name: str) -> dict[str, Any]:
    """An entry as it is kept; what was posted stands under this name."""
    return {**receipt_body(entry), "supersedes": entry.supersedes, name: dict(entry.body) if entry.body else None}


def written(
    match_id: str, posted: Mapping[str, Any], add: Callable[..., Added], withdraw: Callable[..., Added]
) -> Added:
    """What became of a posted entry: a new one, one in the place of another, or another taken back."""
    body, supersedes, withdraws = with_links(posted)
    at, repeat = (kept_services(), club_id(), match_id), once(posted)
    if withdraws is not None:
        return withdraw(*at, withdraws, once=repeat)
    return add(*at, body, supersedes=supersedes, once=repeat)


def entry_answer(match_id: str, entry_id: str, noun: EntryKind, name: str) -> Response:
    """One entry as it is kept; what was posted stands under this name."""
    return answer(entry_body(entries.get_entry(kept_services(), club_id(), match_id, noun, entry_id), name))


def entries_page(match_id: str, query: Mapping[str, Any], noun: EntryKind, name: str, **equal: Any) -> Response:
    """A page of entries in the order in which they were added; 304 while the match has not changed."""
    at = (kept_services(), club_id(), match_id)
    tag = tag_of("entries", matches.revision(*at))
    held = unchanged(tag)
    if held is not None:
        return held
    after = sequence_cursor(query.get("cursor"))
    response = kept_page(
        query,
        lambda most: entries.entries_page(*at, noun, after=after, limit=most, **equal),
        lambda entry: str(entry.sequence),
        lambda entry: entry_body(entry, name),
    )
    return tagged(response, tag)
