"""Routes for a match's entries: observations, points and tries. Later entries correct or withdraw earlier ones."""

from collections.abc import Callable, Mapping, Sequence
from operator import attrgetter
from typing import Any, TypeVar

from flask import Response, request
from marshmallow import ValidationError, fields

from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptBlueprint, answer
from tacticapi.api.http.bodies import json_body, once, plain_body
from tacticapi.api.http.conditional import polled, tag_of
from tacticapi.api.http.paging import PageQuery, PlainInteger, SearchText, one_page, page_schema, sequence_cursor
from tacticapi.api.http.problems import FaultSchema, fault_body, refuse
from tacticapi.api.situations import (
    MAX_ID_LENGTH,
    MAX_OBSERVATIONS,
    PLAYED,
    ObservationSchema,
    Score,
    ScoreSchema,
    TriesSchema,
)
from tacticapi.club import entries, matches, scorekeeping
from tacticapi.club.entries import EntryKind, Line, Receipt
from tacticapi.domain.situation import MAX_TRIED
from tacticapi.posted import MAX_TEXTS, StrictJsonError, strict_json
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES

IN_ORDER = "In entry order, including superseded and withdrawing entries."
AS_ENTERED = "The entry as it was made, even if another has superseded it."
COLUMNS = {"what": "kind", "set": "set_number", "game": "game_number"}  # of a query's filters
SUPERSEDES = "Id of the entry that this one replaces. Default: none, a new entry."
WITHDRAWS = "Id of the entry to withdraw; send no other member. Omit if none."
_ALONE = "no other member besides withdraws"

Added = TypeVar("Added")


class SeenAtSchema(wire.Shape):
    """When what was entered was seen."""

    observed_at = wire.Rfc3339(
        "When it was seen, if not now; at most five minutes ahead of the service's clock. Later sightings "
        "count as newer; points keep the order in which they were added. Default: the time at which it is added."
    )


class LinksSchema(SeenAtSchema):
    """An entry that corrects or withdraws another; the history is kept."""

    supersedes = wire.Id(SUPERSEDES)
    withdraws = wire.Id(WITHDRAWS)


class WithdrawalSchema(wire.Shape):
    """The withdrawal of an earlier entry."""

    withdraws = wire.Id(WITHDRAWS, required=True)


class ReceiptSchema(wire.Answer):
    """The receipt for an added entry."""

    id = wire.an_id("Id of the entry.")
    sequence = wire.a_count("The entry's number in the match, which is also the match's new revision.")
    recorded_at = wire.a_time("When the entry was added.")


class ReceiptsSchema(wire.Shape):
    """The receipts for a list of entries, in list order."""

    items = wire.a_list(ReceiptSchema, "One receipt per entry.")


ADDED: dict[str, Any] = {"oneOf": [ReceiptSchema, ReceiptsSchema]}
_ADDED = "A receipt; for a list, one per item."


class EntrySchema(ReceiptSchema):
    """A stored entry. Each resource names the member that contains what was posted."""

    supersedes = wire.an_id("Id of the entry that it replaces.", absent=True)
    observed_at = wire.a_time("When it was seen, as posted.", absent=True)


def as_posted(shape: type[wire.Shape], says: str) -> fields.Nested:
    """Describe the member that contains the posted entry."""
    says = f"{says}; absent if the entry withdraws the superseded one."
    return wire.a_part(shape, says, absent=True, of=lambda entry: entry.body or None)


def _with_links(posted: Mapping[str, Any]) -> tuple[dict[str, Any], str | None, str | None]:
    """Return the posted members without nulls, and the ids of the entries that they supersede and withdraw."""
    given = {name: value for name, value in posted.items() if value is not None}
    for name in ("supersedes", "withdraws"):
        if not isinstance(given.get(name, ""), str):
            refuse("invalid-body", faults=[Fault((name,), given[name], "the id of an entry")])
    supersedes, withdraws = given.pop("supersedes", None), given.pop("withdraws", None)
    if withdraws is not None and (given or supersedes is not None):
        refuse("invalid-body", faults=[Fault(("withdraws",), withdraws, _ALONE)])
    return given, supersedes, withdraws


def written(match_id: str, posted: Any, add: Callable[..., Added], shapes: Sequence[type[wire.Shape]] = ()) -> Added:
    """Add a posted entry or list and return what was added. An entry may replace or withdraw another.

    `shapes` check a single entry and a list item.
    """
    at = (*here(), match_id)
    if isinstance(posted, list):
        if not 1 <= len(posted) <= MAX_OBSERVATIONS:
            refuse("invalid-body", faults=[Fault((), posted, f"a list of 1 to {MAX_OBSERVATIONS:,} entries")])
        return add(*at, loaded(shapes[1](many=True), posted) if shapes else posted, once=once(posted))
    body, supersedes, withdraws = _with_links(loaded(shapes[0](), posted) if shapes else posted)
    given, replaced = (body, supersedes) if withdraws is None else (None, withdraws)
    return add(*at, given, supersedes=replaced, once=once(posted))


def loaded(shape: wire.Shape, posted: Any) -> Any:
    """Parse the body with its shape. If it is invalid, end the request and report every fault."""
    try:
        return shape.load(posted)
    except ValidationError as error:
        refuse("invalid-body", faults=list(wire.faults_of(error.messages, posted)))


def receipts_of(posted: Any, receipts: list[Receipt], **score: Any) -> Response:
    """Respond with an entry's receipt and address, or with a list's receipts, and with the `score` if there is one."""
    items = [ReceiptSchema.written(receipt) for receipt in receipts]
    if isinstance(posted, list):
        return answer({**score, "items": items}, 201)
    response = answer({**score, **items[0]}, 201)
    response.headers["Location"] = f"{request.script_root}{request.path}/{items[0]['id']}"
    return response


def one_or_many(*one: type[wire.Shape], item: type[wire.Shape]) -> dict[str, Any]:
    """Describe a body that is a single entry or a list of new entries."""
    many = {"type": "array", "items": item, "minItems": 1, "maxItems": MAX_OBSERVATIONS}
    return {"required": True, "content": {"application/json": {"schema": {"oneOf": [*one, many]}}}}


def readable(blueprint: KeptBlueprint, noun: EntryKind, one: str, shape: type[EntrySchema], **query: Any) -> None:
    """Add the routes that list entries of one kind and get a single entry, called `one`."""
    of_one = f"get_{one.rsplit(maxsplit=1)[-1]}"

    @blueprint.get(f"/v1/matches/<id:match_id>/{noun}", endpoint=f"list_{noun}", scope="read", reads=IF_NONE_MATCH)
    @blueprint.query(PageQuery, **query)
    @blueprint.response(200, page_schema(shape), description=f"One page of {noun}.")
    @blueprint.doc(summary=f"List the {noun} in a match.", description=IN_ORDER)
    def listing(asked: dict[str, Any], match_id: str) -> Response:
        at = (*here(), match_id)
        equal = {column: asked[name] for name, column in COLUMNS.items() if name in asked}

        def page() -> Response:
            after = sequence_cursor(asked.get("cursor"))
            found = entries.page_of_match(*at, noun, after=after, limit=asked["page_size"] + 1, **equal)
            return one_page(asked, found, shape.written, attrgetter("sequence"))

        return polled(tag_of("entries", matches.revision(*at)), page)

    @blueprint.get(f"/v1/matches/<id:match_id>/{noun}/<id:entry_id>", endpoint=of_one, scope="read")
    @blueprint.response(200, shape, description=f"The {one}.")
    @blueprint.doc(summary=f"Get one {one} from a match.", description=AS_ENTERED)
    def getting(match_id: str, entry_id: str) -> Response:
        return answer(shape.written(entries.get_entry(*here(), match_id, noun, entry_id)))


BY = wire.Text(MAX_TEXTS["by"], says="Who made the entry, in the client's own words. Omit if unknown.")


class PointSchema(wire.Shape):
    """The winner of a point, or a score set by hand."""

    winner = wire.Word(SIDES, says="Who won the point. Default: none; `score` or `withdraws` is sent instead.")
    own_error = wire.StrictBoolean(says="Whether you lost it with an unforced error. Omit if unknown.")
    score = Score(says="The score now, if points were missed. Omit if the score follows from the points.")
    by = BY


class PointSeenSchema(PointSchema, SeenAtSchema):
    """A point in a list."""


class NewPointSchema(PointSchema, LinksSchema):
    """Exactly one of: the winner of a point, a score set by hand, a withdrawal."""


class AfterPointsSchema(wire.Answer):
    """The resulting score."""

    score = wire.a_part(ScoreSchema, "The score; absent if no points are left.", absent=True)
    winner = wire.a_word(SIDES, "Who has won the match at this score; absent if it is undecided.", absent=True)


class ScoredSchema(ReceiptSchema, AfterPointsSchema):
    """The receipt for an added point, and the resulting score."""


class AllScoredSchema(AfterPointsSchema):
    """The receipts for a list of points, in list order, and the resulting score."""

    items = wire.a_list(ReceiptSchema, "One receipt per point.", of="receipts")


class KeptPointSchema(EntrySchema):
    """A stored point."""

    point = as_posted(PointSchema, "What was entered")


_ABSENT_TRIES = "Omit only to withdraw an entry."


class NewTriesSchema(LinksSchema):
    """A tactic played as planned, with all three members, or a withdrawal."""

    tactic = wire.Text(MAX_ID_LENGTH, says=f"Id of the tactic; a retired id counts as its replacement. {_ABSENT_TRIES}")
    tried = wire.Whole(0, MAX_TRIED, says=f"{PLAYED} {_ABSENT_TRIES}")
    won = wire.Whole(0, MAX_TRIED, says=f"How many of these points were won. {_ABSENT_TRIES}")
    by = BY


class TriesSeenSchema(SeenAtSchema):
    """Tries in a list."""

    tactic = wire.Text(MAX_ID_LENGTH, required=True, says="Id of the tactic; a retired id counts as its replacement.")
    tried = wire.Whole(0, MAX_TRIED, required=True, says=PLAYED)
    won = wire.Whole(0, MAX_TRIED, required=True, says="How many of these points were won.")
    by = BY


class EnteredTriesSchema(TriesSchema):
    """Tries as they were entered, and the game."""

    by = BY


class KeptTriesSchema(EntrySchema):
    """Stored tries."""

    tries = as_posted(EnteredTriesSchema, "The tries and their game")


blueprint = KeptBlueprint("entries")


@blueprint.post("/v1/matches/<id:match_id>/points", scope="observe", reads=IDEMPOTENCY_KEY, conflict=True)
@blueprint.response(
    201, {"oneOf": [ScoredSchema, AllScoredSchema]}, description="A receipt, or one per item of a list, and the score.",
    headers=LOCATED,
)  # fmt: skip
@blueprint.doc(requestBody=one_or_many(NewPointSchema, item=PointSeenSchema))
def add_point(match_id: str) -> Response:
    """Add the winner of the next point, or set the score by hand: one entry, or a list.

    The response contains the resulting score. An entry with `supersedes` corrects another, and all later points are
    replayed from there; an entry with `withdraws` withdraws another. An impossible point is refused. Lists are
    all-or-nothing. With an Idempotency-Key, a repeated request is added only once.
    """
    posted = json_body(request)
    scored = written(match_id, posted, scorekeeping.add_points, (NewPointSchema, PointSeenSchema))
    return receipts_of(posted, scored.receipts, **AfterPointsSchema.written(scored))


readable(blueprint, "points", "point", KeptPointSchema)


@blueprint.post("/v1/matches/<id:match_id>/tries", scope="observe", reads=IDEMPOTENCY_KEY, conflict=True)
@blueprint.response(201, ADDED, description=_ADDED, headers=LOCATED)
@blueprint.doc(requestBody=one_or_many(NewTriesSchema, item=TriesSeenSchema))
def add_tries(match_id: str) -> Response:
    """Add the number of points on which a tactic was carried out, and the number won: one tactic, or a list.

    Tries of the same tactic add up. Lists are all-or-nothing. An entry with `supersedes` corrects another; an entry
    with `withdraws` withdraws another. With an Idempotency-Key, a repeated request is added only once.
    """
    posted = json_body(request)
    return receipts_of(posted, written(match_id, posted, scorekeeping.add_tries, (NewTriesSchema, TriesSeenSchema)))


readable(blueprint, "tries", "entry of tries", KeptTriesSchema)


MAX_LINES = 2_000
JSON_LINES = ("application/x-ndjson", "application/jsonl")  # the second is also accepted, but not in the contract


class ObservationSeenSchema(ObservationSchema, SeenAtSchema):
    """An observation in a list."""


class NewObservationSchema(ObservationSchema, LinksSchema):
    """One observation; with `supersedes` it replaces another entry."""


class LineResultSchema(wire.Shape):
    """The result for one line: a receipt, or its faults."""

    line = wire.a_count("Number of the line, from 1.")
    id = wire.an_id("Id of the entry; absent if the line was refused.", absent=True)
    sequence = wire.a_count("The entry's number in the match.", absent=True)
    recorded_at = wire.a_time("When the entry was added.", absent=True)
    errors = wire.a_list(FaultSchema, "Why the line was refused; absent if it was added.", absent=True)


class LinesSchema(wire.Shape):
    """The result for every line that is not blank."""

    items = wire.a_list(LineResultSchema, "One result per line, in line order.")
    added = wire.a_count("Number of lines added.")
    refused = wire.a_count("Number of lines refused.")


class KeptObservationSchema(EntrySchema):
    """A stored observation."""

    observation = as_posted(ObservationSchema, "What was seen, as posted")


_LINES = {
    "type": "string",
    "description": f"At most {MAX_LINES:,} lines, each the JSON of one observation. Blank lines are skipped.",
}
REQUEST_BODY = one_or_many(NewObservationSchema, WithdrawalSchema, item=ObservationSeenSchema)
REQUEST_BODY["content"][JSON_LINES[0]] = {"schema": _LINES}
MAX_FAULTS = 10  # per line; a line with more is not an observation


def _read(line: bytes) -> tuple[Any, Sequence[Fault]]:
    try:
        return strict_json(line), ()
    except StrictJsonError as error:
        return None, error.faults


def _line_body(number: int, faults: Sequence[Fault], became: Line) -> dict[str, Any]:
    if became.receipt:
        return {"line": number, **ReceiptSchema.written(became.receipt)}
    code = {"code": became.code} if became.code else {}
    return {"line": number, "errors": [{**fault_body(one), **code} for one in (faults or became.faults)[:MAX_FAULTS]]}


@blueprint.post("/v1/matches/<id:match_id>/observations", scope="observe", reads=IDEMPOTENCY_KEY, conflict=True)
@blueprint.response(200, LinesSchema, description="The result of each line of JSON Lines.")
@blueprint.response(201, ADDED, description=_ADDED, headers=LOCATED)
@blueprint.doc(requestBody=REQUEST_BODY)
def add_observations(match_id: str) -> Response:
    """Add observations: one, a list, or JSON Lines.

    Lists are all-or-nothing. With JSON Lines, each valid line is added, and every line gets its own result. Counts of
    the same kind and game add up. A single entry with `supersedes` corrects another, and an entry with `withdraws`
    withdraws another; the history is kept. With an Idempotency-Key, a repeated request is added only once.
    """
    if request.mimetype in JSON_LINES:
        return _add_lines(match_id)
    posted = json_body(request)
    if not isinstance(posted, dict | list):
        refuse("invalid-body", faults=[Fault((), posted, "an observation, or a list of them")])
    return receipts_of(posted, written(match_id, posted, entries.add_observations))


def _add_lines(match_id: str) -> Response:
    body = plain_body(request)
    lines = {number: line for number, line in enumerate(body.split(b"\n"), 1) if line.strip()}
    if len(lines) > MAX_LINES:
        refuse("body-too-large", f"at most {MAX_LINES:,} lines")
    read, repeat = [_read(line) for line in lines.values()], once(body.decode("utf-8", "replace"))
    kept = entries.add_observations_in_bulk(*here(), match_id, [posted for posted, _ in read], once=repeat)
    items = [_line_body(number, faults, one) for number, (_, faults), one in zip(lines, read, kept, strict=True)]
    added = sum("id" in item for item in items)
    return answer({"items": items, "added": added, "refused": len(items) - added})


readable(
    blueprint,
    "observations",
    "observation",
    KeptObservationSchema,
    what=SearchText("Only observations with this vocabulary id."),
    set=PlainInteger("Only observations from this set. Default: all."),
    game=PlainInteger("Only observations from this game in a set. Default: all."),
)
