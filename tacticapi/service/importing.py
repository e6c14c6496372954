"""An export ▶ a club in this database, in one unit of work: all of it or nothing."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice
from typing import Any

from tacticapi.knowledge import Fault
from tacticapi.service.checks import checked_facts, checked_label
from tacticapi.service.codec import decode
from tacticapi.service.desk import Desk
from tacticapi.service.errors import Refused, refuse
from tacticapi.service.export import FORMAT, KINDS, SCHEMA
from tacticapi.service.posted import observation_faults
from tacticapi.service.scorekeeping import point_faults
from tacticapi.service.tries import try_faults
from tacticapi.store import Club, Entry, Match, ObservationEntry, Player, Record, Unfit, UnitOfWork, is_id

AT_ONCE = 500
Numbered = tuple[int, Mapping[str, Any]]


def import_club(desk: Desk, lines: Iterable[str]) -> Club:
    """The club that an export holds, with the ids that it had.

    Raises Refused, the fault's path naming the line (from 1), for anything that is no whole export of this schema,
    and for a club that is here already.
    """
    numbered = _read(lines)
    number, header = next(numbered, (1, {}))
    if header.get("export") != FORMAT or header.get("schema") != SCHEMA or not is_id(str(header.get("club_id"))):
        raise refuse(f"the first line of an export of schema {SCHEMA}", "line", number)
    club_id = str(header["club_id"])
    with desk.work(club_id) as work:
        if work.clubs.mine() is not None:
            raise refuse("a club that is not here yet: this one is", "line", number, value=club_id)
        _keep(desk, work, numbered)
        club = work.clubs.mine()
        if club is None:
            raise refuse("the line of the club", "line", number + 1)
        work.commit()
    return club


def _keep(desk: Desk, work: UnitOfWork, numbered: Iterator[Numbered]) -> None:
    rows, last, ended = 0, 1, False
    for kind, group in groupby(numbered, key=lambda line: line[1].get("kind")):
        while batch := list(islice(group, AT_ONCE)):
            last = batch[0][0]
            if ended or (kind is None and not _ends(batch, rows)):
                raise refuse(f"the end of an export with {rows} rows", "line", last)
            if kind is None:
                ended = True
                continue
            records = [_record(desk, work, kind, number, content) for number, content in batch]
            try:
                _repository(work, kind).add_all(records)
            except Unfit:
                raise refuse("rows that are new and point to earlier ones", "line", last) from None
            rows += len(batch)
    if not ended:
        raise refuse("the last line of an export: this one was cut off", "line", last)


def _ends(batch: Sequence[Numbered], rows: int) -> bool:
    return len(batch) == 1 and batch[0][1].get("end") is True and batch[0][1].get("rows") == rows


def _record(desk: Desk, work: UnitOfWork, kind: str, number: int, content: Mapping[str, Any]) -> Record:
    if kind not in KINDS:
        raise refuse(f"one of {', '.join(KINDS)}", "line", number, "kind", value=kind)
    try:
        record = decode(KINDS[kind], content.get("row"))
    except (ValueError, TypeError, KeyError) as error:
        raise refuse(f"a row of a {kind} ({error})", "line", number, "row") from None
    if record.club_id != work.club_id:
        raise refuse(f"a row of the club {work.club_id}", "line", number, "row", "club_id", value=record.club_id)
    try:
        _check(desk, kind, record)
    except Refused as refused:
        raise Refused(Fault(("line", number, "row", *f.path), f.value, f.expected) for f in refused.faults) from None
    return record


def _check(desk: Desk, kind: str, record: Record) -> None:
    """Refuse what could not have been kept here; kinds and tactics that these rules do not know are let be."""
    found: list[Fault] = []
    match record:
        case Club(label=label):
            checked_label(label)
        case Player(side=side, facts=facts, label=label):
            checked_label(label)
            checked_facts(side, facts, desk.rulebook, health=False)
        case Match():
            checked_facts("context", record.context, desk.rulebook)
            checked_facts("own", record.own_facts, desk.rulebook)
            checked_facts("opponent", record.opponent_facts, desk.rulebook)
        case ObservationEntry(kind=what, body=body) if body is not None and what in desk.rulebook.kinds:
            found = observation_faults(body, desk.rulebook)
        case Entry(body=body) if body is not None and kind == "point":
            found = point_faults(body)
        case Entry(body=body) if body is not None and kind == "try" and body.get("tactic") in desk.rulebook.tactics:
            found = try_faults(desk, body)
    if found:
        raise Refused(found)


def _repository(work: UnitOfWork, kind: str) -> Any:
    return {
        "club": work.clubs,
        "player": work.players,
        "match": work.matches,
        "observation": work.observations,
        "point": work.points,
        "try": work.tries,
        "advice": work.snapshots,
        "feedback": work.feedback,
    }[kind]


def _read(lines: Iterable[str]) -> Iterator[Numbered]:
    for number, line in enumerate(lines, 1):
        try:
            content = json.loads(line)
        except ValueError:
            raise refuse("a line of JSON", "line", number) from None
        if not isinstance(content, dict):
            raise refuse("an object", "line", number)
        yield number, content
