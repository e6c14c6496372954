"""Whether the opponent's play has changed: a share counted game by game that has moved."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation
from tacticapi.domain.terms import Phase, Way, Wing
from tacticapi.evidence import Entry
from tacticapi.value import ChangePoint, change_point

OWN_SUBJECTS = frozenset({"own", "record", "plan"})

_Share = tuple[str, Wing | None, str | None, str | None, str | None]
_Game = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Shift:
    """A share of the opponent's play that moved: of what, from which (set, game) on, and the observations since."""

    what: str
    wing: Wing | None
    option: str | None
    change: ChangePoint
    since: _Game
    observations: tuple[int, ...]


def play_shifts(entries: Iterable[Entry], rulebook: Rulebook) -> tuple[Shift, ...]:
    """Return the shares that moved, likeliest first, one a kind. Needs counts dated by game, from enough games."""
    rule = rulebook.defaults["their_play"]
    found: dict[str, Shift] = {}
    for (what, wing, _, _, option), games in _by_game(entries, rulebook).items():
        if len(games) < rule["games"]:
            continue
        shift = _shift(what, wing, option, games, rule)
        if shift.change.chance >= rule["chance"]:
            best = found.get(what)
            if best is None or shift.change.chance > best.change.chance:
                found[what] = shift
    return tuple(sorted(found.values(), key=lambda s: (-round(s.change.chance, 6), s.what)))


def _shift(
    what: str, wing: Wing | None, option: str | None, games: Mapping[_Game, list["_Count"]], rule: Mapping[str, Any]
) -> Shift:
    played = sorted(games)
    counts = [(sum(c.hits for c in games[g]), sum(c.chances for c in games[g])) for g in played]
    change = change_point(counts, float(rule["prior"]), float(rule["share"]), float(rule["size"]))
    later = played[change.games_before :]
    places = tuple(sorted(c.observation for game in later for c in games[game]))
    return Shift(what, wing, option, change, later[0], places)


@dataclass(frozen=True, slots=True)
class _Count:
    hits: float
    chances: float
    observation: int


def _by_game(entries: Iterable[Entry], rulebook: Rulebook) -> dict[_Share, dict[_Game, list[_Count]]]:
    shares: dict[_Share, dict[_Game, list[_Count]]] = {}
    for entry in entries:
        seen = entry.observation
        if entry.phase is not Phase.GAMES or seen.game is None or seen.what.partition(".")[0] in OWN_SUBJECTS:
            continue
        for option, hits, chances in _counted(seen, rulebook.kinds[seen.what].options):
            share = (seen.what, seen.wing, seen.court, seen.serve, option)
            games = shares.setdefault(share, {})
            games.setdefault((seen.set or 1, seen.game), []).append(_Count(hits, chances, seen.index))
    return shares


def _counted(seen: Observation, options: tuple[str, ...]) -> Iterator[tuple[str | None, float, float]]:
    """(option, hits, chances) of a count, or of every option of a split."""
    if seen.way is Way.COUNT:
        yield None, seen.count or 0.0, seen.of or 0.0
    elif seen.counts is not None and (total := sum(seen.counts.values())):
        yield from ((option, seen.counts.get(option, 0.0), total) for option in options)
