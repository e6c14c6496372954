"""A player erased for good: what names them goes, counts that others' matches need stay without a name.

Erasing is the one change of entries that were made: there is no history of it.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.inference.danger import WARNING_SIGN
from tacticapi.service.desk import Desk
from tacticapi.service.entries import locked_match
from tacticapi.service.players import known_player
from tacticapi.store import Feedback, Match, Player, Record, UnitOfWork

OWN_SUBJECTS = frozenset({"record", "plan"})  # observations of what the own player did; all others are the opponent's
FREE_TEXT = frozenset({"note", "by", "ref"})
REASON = "reason"  # of feedback; in advice it is a word of ours


@dataclass(frozen=True, slots=True)
class Erased:
    """What was done: matches that went, matches that stay without the player, texts in which the label stood."""

    matches_deleted: int
    matches_kept: int
    texts: int


def erase_player(desk: Desk, club_id: str, player_id: str) -> Erased:
    """Erase a player. Raises NotFound.

    A match stays, anonymous, where its other player does: of an erased opponent only what the own player did; of an
    erased own player only what was seen of the opponent, and the points. A danger sign stays until the match ends.
    Advice given in these matches goes. Free text anywhere in the club that holds the label goes.
    """
    with desk.work(club_id) as work:
        player = known_player(work, player_id)
        deleted = kept = 0
        for found in work.matches.of_player(player_id):
            match = locked_match(work, found.id)
            if (match.opponent_id if player.side == "own" else match.own_id) is None:
                deleted += work.matches.delete(match.id)
            else:
                _make_anonymous(work, match, player.side)
                kept += 1
        work.players.delete(player_id)
        texts = _remove_name(work, player, desk.rulebook)
        work.commit()
    return Erased(deleted, kept, texts)


def _make_anonymous(work: UnitOfWork, match: Match, side: str) -> None:
    work.snapshots.delete_of_match(match.id)
    theirs: list[str] = []
    for entry in work.observations.of_match(match.id):
        # a danger sign may be in either player, and must stop play as long as the match goes on
        signs_on = entry.kind == WARNING_SIGN and match.status == "open"
        if not signs_on and (entry.kind.partition(".")[0] in OWN_SUBJECTS) == (side == "own"):
            theirs.append(entry.id)
        elif entry.body and FREE_TEXT & entry.body.keys():
            work.observations.update(entry.id, {"body": _without(entry.body, FREE_TEXT)})
    work.observations.delete_ids(theirs)
    if side == "own":
        work.tries.delete_ids([entry.id for entry in work.tries.of_match(match.id)])
        for point in work.points.of_match(match.id):
            if point.body and "own_error" in point.body:
                work.points.update(point.id, {"body": _without(point.body, {"own_error"})})
    gone: dict[str, Any] = {f"{side}_id": None, f"{side}_facts": {}}
    if side == "opponent":
        gone |= {"priors": {}, "earlier": []}
    work.matches.update(match.id, {**gone, "version": match.version + 1, "revision": match.revision + 1})


def _remove_name(work: UnitOfWork, player: Player, rulebook: Rulebook) -> int:
    """Take free texts that hold the label out of everything of the club; says how many rows held one.

    Whoever polls a match, or edits it or a player, on which the label stood is told that it has changed.
    """
    holder = _Name(player.label, rulebook)
    found, touched = 0, set[str]()
    for repository, columns, versioned in (
        (work.players, ("facts",), True),
        (work.matches, ("context", "own_facts", "opponent_facts"), True),
        (work.observations, ("body",), False),
        (work.snapshots, ("situation", "advice"), False),
        (work.feedback, (REASON,), False),
    ):
        records: Any = repository
        for row, cleaned in list(holder.changes(records.stream(), columns)):
            records.update(row.id, {**cleaned, **({"version": row.version + 1} if versioned else {})})
            touched |= _matches_told(work, row)
            found += 1
    work.matches.touch(touched)
    return found


def _matches_told(work: UnitOfWork, row: Any) -> set[str]:
    """The matches of which something is told by a row."""
    match row:
        case Player():
            return {match.id for match in work.matches.of_player(row.id)}
        case Match():
            return {row.id}
        case Feedback():
            return {snapshot.match_id for snapshot in [work.snapshots.get(row.snapshot_id)] if snapshot}
        case _:
            return {row.match_id}


class _Name:
    """Finds a label in free text."""

    def __init__(self, label: str, rulebook: Rulebook) -> None:
        self._word = re.compile(rf"(?<!\w){re.escape(label)}(?!\w)", re.IGNORECASE)
        texts = [kind for kind in rulebook.kinds.values() if Way.TEXT in kind.ways]
        self._kinds, self._keys = {kind.id for kind in texts}, FREE_TEXT | {kind.key for kind in texts}

    def changes(self, records: Iterable[Record], columns: tuple[str, ...]) -> Iterable[tuple[Any, dict[str, Any]]]:
        """Every row that held the label, with its cleaned columns."""
        for record in records:
            before = {column: getattr(record, column) for column in columns}
            after = {REASON: None} if self._in(before.get(REASON)) else self.cleaned(before)
            if after != before:
                yield record, after

    def cleaned(self, data: Any) -> Any:
        """The data with None for each free text that holds the label."""
        if isinstance(data, Mapping):
            free = self._keys | ({"value"} if data.get("what") in self._kinds else set())
            free |= {"text"} if "why" in data else set()  # a free text that advice gave back as not understood
            return {key: None if key in free and self._in(item) else self.cleaned(item) for key, item in data.items()}
        return [self.cleaned(item) for item in data] if isinstance(data, list) else data

    def _in(self, text: Any) -> bool:
        return isinstance(text, str) and self._word.search(text) is not None


def _without(body: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    return {name: value for name, value in body.items() if name not in names}
