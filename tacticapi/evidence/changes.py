"""Detect changes of the opponent's play during the match, from shares counted game by game.

Beta-Binomial before and after the change, summed exactly over every game (textbook form); priors are model defaults.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.special import betaln

from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Game, Observation, Way, Wing

OWN_SUBJECTS = frozenset({"own", "record", "plan"})
_Share = tuple[str, Wing | None, str | None, str | None, str | None]


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """The chance that the share changed, the likeliest number of games before it, the shares before and since."""

    chance: float
    games_before: int
    before: float
    since: float


def change_point(games: Sequence[tuple[float, float]], prior: float, share: float, size: float) -> ChangePoint:
    """Read (hits, chances) of at least two games, oldest first.

    `prior` is the prior probability of a change; `share` and `size` are the Beta prior of every share.
    """
    if len(games) < 2:
        raise ValueError(f"{len(games)} games: a change needs at least two")
    a, b = share * size, (1.0 - share) * size
    hits, chances = np.cumsum(np.array(games, dtype=np.float64), axis=0).T
    misses = chances - hits
    first = betaln(a + hits, b + misses)
    rest = betaln(a + hits[-1] - hits, b + misses[-1] - misses)
    none = betaln(a, b)
    log_bayes = (first + rest - none - first[-1])[:-1]  # change after each game against no change at all
    top = log_bayes.max()
    change = prior * np.exp(log_bayes - top).mean()
    chance = float(change / (change + (1.0 - prior) * np.exp(-top)))
    at = int(np.argmax(log_bayes))
    before = (a + hits[at]) / (size + chances[at])
    since = (a + hits[-1] - hits[at]) / (size + chances[-1] - chances[at])
    return ChangePoint(chance, at + 1, float(before), float(since))


@dataclass(frozen=True, slots=True)
class Shift:
    """A share of the opponent's play that changed: of what, since which (set, game), and the observations since."""

    what: str
    wing: Wing | None
    option: str | None
    change: ChangePoint
    since: Game
    observations: tuple[int, ...]


class _Count(NamedTuple):
    hits: float
    chances: float
    observation: int


def game_of(seen: Observation) -> Game | None:
    """Return the (set, game) of an observation, None if it is not dated by game."""
    return None if seen.game is None else (seen.set or 1, seen.game)


def play_shifts(observations: Iterable[Observation], rulebook: Rulebook) -> tuple[Shift, ...]:
    """Return the shares that changed, likeliest first, one per kind. Needs counts dated by game, from enough games."""
    rule = rulebook.defaults["their_play"]
    found: dict[str, Shift] = {}
    for (what, wing, _, _, option), games in _by_game(observations, rulebook).items():
        if len(games) < rule["games"]:
            continue
        played = sorted(games)
        counts = [(sum(c.hits for c in games[g]), sum(c.chances for c in games[g])) for g in played]
        change = change_point(counts, float(rule["prior"]), float(rule["share"]), float(rule["size"]))
        if change.chance >= rule["chance"] and (what not in found or change.chance > found[what].change.chance):
            later = played[change.games_before :]
            places = tuple(sorted({c.observation for game in later for c in games[game]}))
            found[what] = Shift(what, wing, option, change, later[0], places)
    return tuple(sorted(found.values(), key=lambda s: (-round(s.change.chance, 6), s.what)))


def _by_game(observations: Iterable[Observation], rulebook: Rulebook) -> dict[_Share, dict[Game, list[_Count]]]:
    shares: dict[_Share, dict[Game, list[_Count]]] = {}
    for seen in observations:
        game, kind = game_of(seen), rulebook.kinds[seen.what]
        if game is None or kind.subject in OWN_SUBJECTS:
            continue
        for option, hits, chances in _counted(seen, kind.options):
            share = (seen.what, seen.wing, seen.court, seen.serve, option)
            shares.setdefault(share, {}).setdefault(game, []).append(_Count(hits, chances, seen.index))
    return shares


def _counted(seen: Observation, options: tuple[str, ...]) -> Iterator[tuple[str | None, float, float]]:
    """Yield (option, hits, chances) for a count, or for every option of a split."""
    if seen.way is Way.COUNT:
        yield None, seen.count or 0.0, seen.of or 0.0
    elif seen.counts is not None and (total := sum(seen.counts.values())):
        yield from ((option, seen.counts.get(option, 0.0), total) for option in options)
