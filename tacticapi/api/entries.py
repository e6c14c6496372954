"""What the entries of a match share (links to other entries, receipts, pages), with its points and its tries."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from flask import Response, request
from marshmallow import fields

from tacticapi.api.http.access import club_id
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptBlueprint, answer
from tacticapi.api.http.bodies import once
from tacticapi.api.http.conditional import tag_of, tagged, unchanged
from tacticapi.api.http.deployment import kept_services
from tacticapi.api.http.fields import Answer, Shape, Text, Whole, Word, Yes, a_count, a_time, a_word, an_id, an_object
from tacticapi.api.http.paging import KeptPageQuery, kept_page, page_schema, sequence_cursor
from tacticapi.api.http.problems import INVALID_BODY, refuse
from tacticapi.api.situations import MAX_ID_LENGTH, PLAYED, Score, ScoreSchema
from tacticapi.club import entries, matches, scorekeeping
from tacticapi.club.entries import EntryKind
from tacticapi.domain.situation import MOST_TRIED
from tacticapi.rulebook.files import Fault
from tacticapi.scoring import SIDES

UUID_LENGTH = 36
SUPERSEDES = "Id of the entry in whose place this one stands from now on. Absent: a new entry."
WITHDRAWS = "Id of the entry that is taken back; nothing else stands beside it. Absent: none."
_ALONE = "nothing beside withdraws"

Added = TypeVar("Added")


class LinksSchema(Shape):
    """An entry that corrects or takes back another; the history stays."""

    supersedes = Text(UUID_LENGTH, says=SUPERSEDES)
    withdraws = Text(UUID_LENGTH, says=WITHDRAWS)


class WithdrawalSchema(Shape):
    """Takes an entry back."""

    withdraws = Text(UUID_LENGTH, required=True, says=WITHDRAWS)


class ReceiptSchema(Answer):
    """What was added."""

    id = an_id("Id of the entry.")
    sequence = a_count("Its place in the match; also the match's revision now.")
    recorded_at = a_time("When it was added.")


class EntrySchema(ReceiptSchema):
    """An entry as it is kept. Which member holds what was posted is for the resource to say."""

    supersedes = an_id("The entry that it stands in the place of.", null=True)


def as_posted(says: str) -> fields.Dict:
    """What was posted, as it was posted."""
    return an_object(f"{says}; null takes the superseded one back.", null=True)


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


def entry_body(entry: Any, name: str) -> dict[str, Any]:
    """Return an entry as it is kept; what was posted stands under this name."""
    return {**EntrySchema.written(entry), name: dict(entry.body) if entry.body else None}


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


class NewPointSchema(LinksSchema):
    """Who won a point, or the score set by hand, or a withdrawal: one of the three."""

    winner = Word(SIDES, says="Who won the point. Absent: the score is set, or an entry withdrawn.")
    own_error = Yes(says="Whether an own unforced error lost it. Absent: unknown.")
    score = Score(says="The score from here on, where points were missed. Absent: it follows from the points.")


class ScoredSchema(ReceiptSchema):
    """What was added, and the score after it."""

    score = fields.Nested(
        ScoreSchema, required=True, allow_none=True, metadata={"description": "The score; null: nothing stands."}
    )
    winner = a_word(SIDES, "Who has won the match by this score; null: nobody yet.", null=True)


class PointSchema(EntrySchema):
    """A point as kept."""

    point = as_posted("What was entered")


PointPage = page_schema(PointSchema)


_ABSENT_TRIES = "Absent only where an entry is withdrawn."


class NewTriesSchema(LinksSchema):
    """A tactic tried as meant, with all three, or a withdrawal."""

    tactic = Text(MAX_ID_LENGTH, says=f"Id of the tactic; a retired id counts for what replaced it. {_ABSENT_TRIES}")
    tried = Whole(0, MOST_TRIED, says=f"{PLAYED} {_ABSENT_TRIES}")
    won = Whole(0, MOST_TRIED, says=f"Points won of them. {_ABSENT_TRIES}")


class KeptTriesSchema(EntrySchema):
    """Tries as kept."""

    tries = as_posted("What was tried")


TriesPage = page_schema(KeptTriesSchema)


points_blueprint = KeptBlueprint("points", "Points of a match; the score follows from them.")


@points_blueprint.route("/v1/matches/<id:match_id>/points", methods=["POST"])
@points_blueprint.needs("observe", IDEMPOTENCY_KEY)
@points_blueprint.arguments(NewPointSchema)
@points_blueprint.response(201, ScoredSchema, description="A receipt and the score.", headers=LOCATED)
@points_blueprint.doc(operationId="addPoint")
def add_point(posted: dict[str, Any], match_id: str) -> Response:
    """Add who won the next point, or set the score by hand.

    The answer holds the score after it. An entry with `supersedes` corrects another, and all later points are played
    on from it; one with `withdraws` takes it back. A point that cannot follow is refused. With an Idempotency-Key,
    what is sent again is added once.
    """
    scored = written(match_id, posted, scorekeeping.add_point, scorekeeping.withdraw_point)
    return made(ScoredSchema.written(scored))


@points_blueprint.route("/v1/matches/<id:match_id>/points")
@points_blueprint.needs("read", IF_NONE_MATCH)
@points_blueprint.arguments(KeptPageQuery, location="query")
@points_blueprint.response(200, PointPage, description="One page of points.")
@points_blueprint.doc(operationId="listPoints")
def list_points(query: dict[str, Any], match_id: str) -> Response:
    """List the points of a match.

    In the order in which they were added, superseded and withdrawing ones included.
    """
    return entries_page(match_id, query, "points", "point")


@points_blueprint.route("/v1/matches/<id:match_id>/points/<id:entry_id>")
@points_blueprint.needs("read")
@points_blueprint.response(200, PointSchema, description="The point.")
@points_blueprint.doc(operationId="getPoint")
def get_point(match_id: str, entry_id: str) -> Response:
    """Get one point of a match.

    As it was entered, also where another has superseded it.
    """
    return entry_answer(match_id, entry_id, "points", "point")


tries_blueprint = KeptBlueprint("tries", "Tactics tried in a match. Tries of one tactic add up.")


@tries_blueprint.route("/v1/matches/<id:match_id>/tries", methods=["POST"])
@tries_blueprint.needs("observe", IDEMPOTENCY_KEY)
@tries_blueprint.arguments(NewTriesSchema)
@tries_blueprint.response(201, ReceiptSchema, description="A receipt.", headers=LOCATED)
@tries_blueprint.doc(operationId="addTries")
def add_tries(posted: dict[str, Any], match_id: str) -> Response:
    """Add how often a tactic was played as meant, and the points won by it.

    Tries of one tactic add up. An entry with `supersedes` corrects another, one with `withdraws` takes it back. With
    an Idempotency-Key, what is sent again is added once.
    """
    return made(ReceiptSchema.written(written(match_id, posted, entries.add_tries, entries.withdraw_tries)))


@tries_blueprint.route("/v1/matches/<id:match_id>/tries")
@tries_blueprint.needs("read", IF_NONE_MATCH)
@tries_blueprint.arguments(KeptPageQuery, location="query")
@tries_blueprint.response(200, TriesPage, description="One page of tries.")
@tries_blueprint.doc(operationId="listTries")
def list_tries(query: dict[str, Any], match_id: str) -> Response:
    """List the tries of a match.

    In the order in which they were added, superseded and withdrawing ones included.
    """
    return entries_page(match_id, query, "tries", "tries")


@tries_blueprint.route("/v1/matches/<id:match_id>/tries/<id:entry_id>")
@tries_blueprint.needs("read")
@tries_blueprint.response(200, KeptTriesSchema, description="The tries.")
@tries_blueprint.doc(operationId="getTries")
def get_tries(match_id: str, entry_id: str) -> Response:
    """Get one entry of tries of a match.

    As it was entered, also where another has superseded it.
    """
    return entry_answer(match_id, entry_id, "tries", "tries")
