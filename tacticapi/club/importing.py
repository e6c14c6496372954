"""Import an export, all or nothing. A row that could break a later response is refused with its line number."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields, replace
from datetime import datetime, timedelta
from itertools import groupby, islice
from typing import Any, TypeVar

from tacticapi import store
from tacticapi.club.advising import NOT_USED, OUTCOME, OUTCOMES, check_feedback
from tacticapi.club.clubs import FILLING, check_days
from tacticapi.club.codec import decode, encode
from tacticapi.club.dossier import MAX_READ, MAX_SEEN, may_be_known
from tacticapi.club.entries import MAX_ENTRIES
from tacticapi.club.export import FORMAT, KINDS, SCHEMA, repositories
from tacticapi.club.health import SUBJECTS, checked_facts
from tacticapi.club.matches import checked
from tacticapi.club.matches import delete as delete_match
from tacticapi.club.players import MAX_FORMER_LABELS
from tacticapi.club.scorekeeping import tries_beyond
from tacticapi.club.services import (
    ENTRIES_IN_A_PIECE,
    ROWS_IN_A_PIECE,
    Refused,
    Services,
    below,
    checked_day,
    checked_external_id,
    checked_label,
    conflict,
    refuse,
)
from tacticapi.club.situations import Question, read_kept, situation, situation_then
from tacticapi.domain.advice import Advice
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Earlier, Moment, Observation, Way
from tacticapi.posted import (
    MAX_CHANCES,
    NAMES,
    StrictJsonError,
    observation,
    observation_faults,
    point_faults,
    strict_text,
    try_faults,
    unknown_kind_faults,
)
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES

AT_ONCE = 500
MAX_COUNT = 1_000_000_000  # limit of a version, revision or sequence: it grows by one and must fit its column
MAX_SURFACE, ID_LENGTH = 40, 36
STATUSES = ("open", "ended")
STATED = {NOT_USED: "any", OUTCOME: OUTCOMES[0]}  # a reason that each kind of feedback accepts
STALE = timedelta(minutes=1)  # after this time without a copied piece, the import counts as interrupted
UNFINISHED = 0  # the version of a club during its import
Numbered = tuple[int, Mapping[str, Any]]
Read = TypeVar("Read")


def import_club(services: Services, lines: Iterable[str]) -> store.Club:
    """Import a club from a complete export with the same ids, all or nothing. Raises Refused with the line (from 1)."""
    with _checked_export(services, lines) as (staged, club):
        with services.reading(club.club_id) as work:
            here = work.clubs.get(club.club_id)
        if here is not None:
            if here.version != UNFINISHED:
                raise refuse("a club that does not exist here yet: this one does", "line", 1, value=club.club_id)
            _remove(services, club.club_id)
        try:
            with services.work(club.club_id) as work:
                work.clubs.add(replace(club, version=UNFINISHED))
            _copy(staged, club.club_id, services, club.club_id)
            with services.work(club.club_id) as work:
                work.clubs.update(club.club_id, {"version": club.version})
        except BaseException:
            _remove(services, club.club_id)
            raise
    return club


def fill_club(services: Services, club_id: str, lines: Iterable[str]) -> dict[str, int]:
    """Fill a club that has no players or matches from a complete export of any club, all or nothing.

    Return the number of rows per kind. Rows keep their ids; the club keeps its own id, label and days. During an
    import, and after an interrupted one, the club accepts nothing else. Raises Refused with the line (from 1),
    Conflict.
    """
    with _checked_export(services, lines) as (staged, club):
        if _begun_again(services, club_id):
            _empty(services, club_id)
        try:
            counts = _copy(staged, club.club_id, services, club_id)
        except BaseException:
            _empty(services, club_id)
            _settle(services, club_id)
            raise
        _settle(services, club_id)
    return counts


def _begun_again(services: Services, club_id: str) -> bool:
    """Claim the club for an import; return whether an earlier one was interrupted. Raises Conflict if it is in use."""
    now = services.now()
    with services.work(club_id) as work:
        before = work.answers.claim(FILLING, "", now)
        if before is None and (work.players.find(limit=1) or work.matches.find(limit=1)):
            raise conflict("club-not-empty", "a club without players or matches")
        if before is not None and before.created_at > now - STALE:
            raise conflict("import-under-way", "no other import into this club at the same time")
        work.answers.update(FILLING, {"created_at": now})
    return before is not None


def _settle(services: Services, club_id: str) -> None:
    with services.work(club_id) as work:
        work.answers.delete(FILLING)


@contextmanager
def _checked_export(services: Services, lines: Iterable[str]) -> Iterator[tuple[Services, store.Club]]:
    """Read an export into memory and check all of it before storing anything."""
    numbered = _read(lines)
    number, header = next(numbered, (1, {}))
    if header.get("export") != FORMAT or header.get("schema") != SCHEMA or not store.is_id(str(header.get("club_id"))):
        raise refuse(f"the first line of an export of schema {SCHEMA}", "line", number)
    staged = replace(services, engine=store.in_memory())
    try:
        with staged.work(str(header["club_id"])) as work:
            matches = _keep(staged, work, numbered)
            club = work.clubs.get(work.club_id)
            if club is None:
                raise refuse("the club's line", "line", number + 1)
            _check_matches(staged, work, matches)
        yield staged, club
    finally:
        staged.engine.dispose()


def _copy(staged: Services, staged_id: str, services: Services, club_id: str) -> dict[str, int]:
    """Copy a checked club's rows in prepared pieces, so that no other writer waits for long."""
    counts: dict[str, int] = {}
    with staged.reading(staged_id) as read:
        for kind, repository in repositories(read).items():
            rows = repository.stream() if kind != "club" else iter(())
            size = ROWS_IN_A_PIECE if kind == "advice" else ENTRIES_IN_A_PIECE
            while piece := [replace(row, club_id=club_id) for row in islice(rows, size)]:
                made = [store.shut(row) for row in piece] if kind == "advice" else piece
                with services.work(club_id) as work:
                    repositories(work)[kind].add_all(made)
                    work.answers.update(FILLING, {"created_at": services.now()})
                counts[kind] = counts.get(kind, 0) + len(piece)
    return counts


def _empty(services: Services, club_id: str) -> None:
    with services.reading(club_id) as work:
        ids = work.matches.ids()
    for match_id in ids:
        delete_match(services, club_id, match_id)
    with services.reading(club_id) as work:
        players = work.players.ids()
    for start in range(0, len(players), ENTRIES_IN_A_PIECE):
        with services.work(club_id) as work:
            work.players.delete_ids(players[start : start + ENTRIES_IN_A_PIECE])


def _remove(services: Services, club_id: str) -> None:
    _empty(services, club_id)
    with services.work(club_id) as work:
        work.clubs.delete(club_id)


def _keep(services: Services, work: store.UnitOfWork, numbered: Iterator[Numbered]) -> dict[str, int]:
    """Add checked rows; return the line of each match. Raises Refused."""
    rows, last, ended, matches = 0, 1, False, dict[str, int]()
    for kind, group in groupby(numbered, key=lambda line: line[1].get("kind")):
        while batch := list(islice(group, AT_ONCE)):
            last = batch[0][0]
            is_end = len(batch) == 1 and batch[0][1].get("end") is True and batch[0][1].get("rows") == rows
            if ended or (kind is None and not is_end):
                raise refuse(f"the end of an export with {rows} rows", "line", last)
            if kind is None:
                ended = True
                continue
            records = {number: _record(services, work, kind, number, content) for number, content in batch}
            matches |= {record.id: number for number, record in records.items() if isinstance(record, store.Match)}
            try:
                repositories(work)[kind].add_all(records.values())
            except store.ConstraintViolation:
                raise refuse("new rows that refer only to earlier ones", "line", last) from None
            rows += len(batch)
    if not ended:
        raise refuse("the last line of an export: this one was cut off", "line", last)
    return matches


def _check_matches(services: Services, work: store.UnitOfWork, matches: Mapping[str, int]) -> None:
    for match_id, number in matches.items():
        at = ("line", number, "row")
        try:
            kept = read_kept(work, match_id)
            situation(kept, Moment.BETWEEN_POINTS, services.rulebook)
            for given in work.snapshots.find(match_id=match_id):
                situation_then(kept, given, None, services.rulebook)
        except Refused as refused:
            raise refuse(f"a match with a possible sequence of points: {refused}", *at, value=match_id) from None
        if found := tries_beyond(kept.tries, services.rulebook):
            raise refuse(found[0][1].expected, *at, value=match_id)
        entered: list[store.Entry] = [*kept.observations, *kept.points, *kept.tries]
        highest, revision = max((one.sequence for one in entered), default=0), kept.match.revision
        if revision < highest:
            raise refuse(f"at least {highest}, the sequence of an entry in this match", *at, "revision", value=revision)


@contextmanager
def _under(*path: str | int) -> Iterator[None]:
    try:
        yield
    except Refused as refused:
        raise Refused(below(*path, fault=fault) for fault in refused.faults) from None


def _decoded(kind: type[Read], data: Any, what: str) -> Read:
    try:
        return decode(kind, data)
    except (ValueError, TypeError) as error:
        raise refuse(f"{what} ({error})") from None


def _record(
    services: Services, work: store.UnitOfWork, kind: str, number: int, content: Mapping[str, Any]
) -> store.Record:
    if kind not in KINDS:
        raise refuse(f"one of {', '.join(KINDS)}", "line", number, "kind", value=kind)
    with _under("line", number, "row"):
        repository = repositories(work)[kind]
        record: store.Record = _decoded(repository.record, content.get("row"), f"a row of a {kind}")
        if record.club_id != work.club_id:
            raise refuse(f"a row for club {work.club_id}", "club_id", value=record.club_id)
        if found := list(_column_faults(repository.table.columns, record)):
            raise Refused(found)
        return _checked(services, work, kind, record)


def _column_faults(columns: Iterable[Any], record: store.Record) -> Iterator[Fault]:
    for column in columns:
        name, value, length = column.name, getattr(record, column.name), getattr(column.type, "length", None)
        if length == ID_LENGTH:
            if value is not None and not store.is_id(value):
                yield Fault((name,), value, "an id: a UUID in lower case")
        elif isinstance(value, str):
            if length and (len(value) > length or "\x00" in value):
                yield Fault((name,), value, f"a string of at most {length} characters without NUL")
        elif type(value) is int and not 0 <= value <= MAX_COUNT:
            yield Fault((name,), value, f"a whole number from 0 to {MAX_COUNT:,}")


def _checked(services: Services, work: store.UnitOfWork, kind: str, record: store.Record) -> store.Record:
    for column in fields(record):
        if isinstance(moment := getattr(record, column.name), datetime):
            checked_day(moment, column.name, services.now())
    if isinstance(record, store.Player | store.Match):
        checked_external_id(record.external_id)
    match record:
        case store.Club():
            checked_label(record.label)
            check_days(keep_days=record.keep_days, keep_days_under_18=record.keep_days_under_18)
            if record.version == UNFINISHED:
                raise refuse("a whole number from 1", "version", value=record.version)
        case store.Player():
            _check_player(services, record)
        case store.Match():
            _check_match(services, work, record)
            changed = max(record.updated_at, record.created_at)  # earlier versions did not store it
            return replace(record, earlier=_earlier(services.rulebook, record.earlier), updated_at=changed)
        case store.Entry():
            if found := _entry_faults(services, kind, record):
                raise Refused(found)
        case store.Snapshot():
            return _whole(services, record)
        case store.Feedback():  # erasure may have removed its reason
            check_feedback(record.kind, record.reason or STATED.get(record.kind))
    return record


def _check_player(services: Services, player: store.Player) -> None:
    if player.side not in SIDES:
        raise refuse(f"one of {', '.join(SIDES)}", "side", value=player.side)
    if len(player.former_labels) > MAX_FORMER_LABELS:
        raise refuse(f"at most {MAX_FORMER_LABELS} labels", "former_labels")
    for label in (player.label, *player.former_labels):
        checked_label(label)
    facts = checked_facts(player.side, player.facts, services.rulebook, health=False)
    if facts.get("age_band") != player.age_band:
        raise refuse("the age band of the facts, or null", "age_band", value=player.age_band)


def _check_match(services: Services, work: store.UnitOfWork, match: store.Match) -> None:
    checked(services, {name: getattr(match, name) for name in (*SUBJECTS, "first_server")})
    if match.status not in STATUSES:
        raise refuse(f"one of {', '.join(STATUSES)}", "status", value=match.status)
    if (match.status == "ended") != (match.ended_at is not None):
        raise refuse("a time if the match has ended, else null", "ended_at", value=encode(match.ended_at))
    for side, player_id in (("own", match.own_id), ("opponent", match.opponent_id)):
        player = work.players.get(player_id) if player_id else None
        if player and player.side != side:
            raise refuse(f"a player whose side is {side}", f"{side}_id", value=player_id)


def _earlier(rulebook: Rulebook, listed: Sequence[Any]) -> list[Any]:
    if len(listed) > MAX_READ:
        raise refuse(f"a list of at most {MAX_READ} matches", "earlier")
    kept: list[Any] = []
    for place, one in enumerate(listed):
        with _under("earlier", place):
            read = _decoded(Earlier, one, "an earlier match")
            if found := list(_earlier_faults(rulebook, read)):
                raise Refused(found)
        kept.append(encode(read))
    return kept


def _earlier_faults(rulebook: Rulebook, earlier: Earlier) -> Iterator[Fault]:
    if len(earlier.surface or "") > MAX_SURFACE:
        yield Fault(("surface",), earlier.surface, f"a string of at most {MAX_SURFACE} characters")
    if not 0 <= earlier.weight <= 1:
        yield Fault(("weight",), earlier.weight, "a number from 0 to 1")
    if len(earlier.seen) > MAX_SEEN:
        yield Fault(("seen",), None, f"a list of at most {MAX_SEEN} things seen")
        return
    for place, seen in enumerate(earlier.seen):
        yield from (below("seen", place, fault=fault) for fault in _sum_faults(rulebook, seen))


def _sum_faults(rulebook: Rulebook, seen: Observation) -> Iterable[Fault]:
    """Return the faults of an observation from an earlier match, whose counts are sums."""
    if not may_be_known(seen.what, rulebook):
        return [Fault(("what",), seen.what, "a kind that is about how the opponent plays")]
    if seen.way is Way.TEXT:
        return [Fault(("way",), seen.way, "no text: earlier matches are stored as sums")]
    body = {name: value for name in NAMES if (value := getattr(seen, name)) is not None}
    if said_beside := body.keys() & {"end", "set", "game", "by", "note", "ref"}:
        return [Fault((name,), None, f"no {name}: earlier matches are stored as sums") for name in sorted(said_beside)]
    counts = [seen.count or 0, seen.of or 0, *(seen.counts or {}).values()]
    if not all(0 <= count <= MAX_COUNT for count in counts) or (seen.count or 0) > (seen.of or 0):
        return [Fault((), None, f"counts from 0 to {MAX_COUNT:,}, none above its chances")]
    kind = rulebook.kinds.get(seen.what)
    if kind is None:
        return unknown_kind_faults(body)
    within: dict[str, Any] = {name: min(body[name], MAX_CHANCES) for name in ("count", "of") if name in body}
    if seen.counts is not None:
        within["counts"] = {option: min(count, MAX_CHANCES) for option, count in seen.counts.items()}
    found = observation_faults({**body, **within}, rulebook)
    other = Fault(("way",), seen.way, "the way in which it was seen")
    return found or ([] if observation(0, body, kind).way is seen.way else [other])


def _entry_faults(services: Services, kind: str, entry: store.Entry) -> list[Fault]:
    body = entry.body
    if entry.supersedes == entry.id:
        return [Fault(("supersedes",), entry.supersedes, "another entry")]
    if body is None:
        needs = entry.supersedes is None
        return [Fault(("body",), None, "an object: this entry withdraws nothing")] if needs else []
    if isinstance(entry, store.ObservationEntry):
        found = _observation_faults(services.rulebook, entry, body)
    else:
        found = point_faults(body) if kind == "point" else try_faults(body)
    return [below("body", fault=fault) for fault in found]


def _observation_faults(rulebook: Rulebook, entry: store.ObservationEntry, body: Mapping[str, Any]) -> list[Fault]:
    columns = {"what": entry.kind, "set": entry.set_number, "game": entry.game_number}
    found = [
        Fault((n,), body.get(n), f"{c}, the same as outside the body") for n, c in columns.items() if body.get(n) != c
    ]
    kind = rulebook.kinds.get(entry.kind)
    if found or kind is None:
        return found or unknown_kind_faults(body)
    # the text that named an erased player is gone, but the entry still records an observation
    erased = Way.TEXT in kind.ways and not any(body.get(way.value) is not None for way in (*kind.ways, Way.VALUE))
    return observation_faults({**body, "note": "a text"} if erased and body.get("note") is None else body, rulebook)


def _whole(services: Services, snapshot: store.Snapshot) -> store.Snapshot:
    """Return the snapshot with every member that this version stores, because later readers rely on them."""
    kept: dict[str, Any] = {}
    for name, kind in (("question", Question), ("advice", Advice)):
        with _under(name):
            kept[name] = encode(_decoded(kind, getattr(snapshot, name), f"the {name} of a piece of advice"))
    if (moment := kept["advice"]["moment"]) != snapshot.moment:
        raise refuse(f"{snapshot.moment}, the same as outside the advice", "advice", "moment", value=moment)
    if snapshot.confirmed < snapshot.revision:
        raise refuse(f"at least {snapshot.revision}, the revision", "confirmed", value=snapshot.confirmed)
    with _under("question"):
        asked = kept["question"]
        facts = {name: asked[subject] for name, subject in SUBJECTS.items()}
        checked(services, {**facts, "first_server": asked["first_server"]})
        if asked["previous"] is not None and not store.is_id(asked["previous"]):
            raise refuse("an id: a UUID in lower case", "previous", value=asked["previous"])
        if len(asked["gone"]) > MAX_ENTRIES:
            raise refuse(f"at most {MAX_ENTRIES:,} places", "gone")
    for part, names in (("beliefs", ("probability",)), ("profile", ("usual", "estimate", "low", "high"))):
        for place, one in enumerate(kept["advice"][part]):
            for name in names:
                if not 0 <= one[name] <= 1:
                    raise refuse("a number from 0 to 1", "advice", part, place, name, value=one[name])
    return replace(snapshot, **kept)


def _read(lines: Iterable[str]) -> Iterator[Numbered]:
    for number, line in enumerate(lines, 1):
        try:
            content = strict_text(line, nul=True)
        except StrictJsonError as error:
            raise Refused(below("line", number, fault=fault) for fault in error.faults) from None
        if not isinstance(content, dict):
            raise refuse("an object", "line", number)
        if not isinstance(content.get("kind"), str | None):
            raise refuse("a string", "line", number, "kind", value=content["kind"])
        yield number, content
