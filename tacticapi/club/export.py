"""Export all of a club's data as JSON Lines.

The first line is {"export": "tacticapi", "schema": 1, "club_id", "at", "rulebook"}. Then comes one line per row,
{"kind", "row"}, with each row before the rows that refer to it. The last line is {"end": true, "rows"}. The export
leaves out health items, advice withheld now, tokens, and stored results of requests.
"""

import json
from collections.abc import Iterator, Set
from typing import Any

from tacticapi.club.clubs import known_club
from tacticapi.club.codec import encode
from tacticapi.club.health import Health, Trail, health_of
from tacticapi.club.services import Services
from tacticapi.club.situations import read_kept, withheld_now
from tacticapi.store import Feedback, Record, Snapshot, UnitOfWork

FORMAT, SCHEMA = "tacticapi", 1
KINDS = {  # each kind of row with its repository; rows that others refer to come first
    "club": "clubs",
    "player": "players",
    "match": "matches",
    "observation": "observations",
    "point": "points",
    "try": "tries",
    "advice": "snapshots",
    "feedback": "feedback",
}


def export(services: Services, club_id: str) -> Iterator[str]:
    """Yield the lines for one consistent state of the database. Raises NotFound at the first line."""
    with services.reading(club_id) as work:
        known_club(work)
        rulebook = {"version": services.rulebook.version, "digest": services.rulebook.digest}
        yield _line(export=FORMAT, schema=SCHEMA, club_id=club_id, at=encode(services.now()), rulebook=rulebook)
        rows = 0
        running = [match.id for match in work.matches.find(status="open")]
        withheld = {id for id in running if withheld_now(services, read_kept(work, id))}
        for kind, record in _records(work, health_of(services.rulebook), withheld):
            yield _line(kind=kind, row=encode(record))
            rows += 1
        yield _line(end=True, rows=rows)


def repositories(work: UnitOfWork) -> dict[str, Any]:
    """Return the repository for each kind."""
    return {kind: getattr(work, name) for kind, name in KINDS.items()}


def _records(work: UnitOfWork, health: Health, withheld: Set[str]) -> Iterator[tuple[str, Record]]:
    """Yield every row to export, without advice on withheld matches and feedback on that advice."""
    staying: set[str] = set()
    trails: dict[str, Trail] = {}
    for kind, repository in repositories(work).items():
        for record in repository.stream():
            if isinstance(record, Snapshot) and record.match_id in withheld:
                staying.add(record.id)
            elif isinstance(record, Snapshot):
                if record.match_id not in trails:  # rows of one match are mostly adjacent
                    trails = {record.match_id: health.trail(work.observations.of_match(record.match_id))}
                yield kind, health.stripped(record, trails[record.match_id])
            elif isinstance(record, Feedback) and record.snapshot_id in staying:
                continue
            elif kept := health.cleaned(record):
                yield kind, kept


def _line(**content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"
