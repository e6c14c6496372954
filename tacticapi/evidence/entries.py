"""Decide which observations count, in which phase, and which are pooled; detect changes of play.

Observations do not age within a match: habits do not drift from set to set. A change of play, posted or detected, opens
a new window. Earlier counts are still evidence about the player, with an allowance for the change, but no longer show
how things are now. Changes are detected from shares counted by game: Beta-Binomial before and after, summed exactly
over every possible game (textbook form); priors are model defaults.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import fsum
from typing import NamedTuple

import numpy as np
from scipy.special import betaln

from tacticapi.domain.rules import ObservationKind, Rulebook
from tacticapi.domain.situation import Earlier, Game, Moment, Observation, Phase, Situation, Way, Wing

OWN_SUBJECTS = frozenset({"own", "record", "plan"})
_Share = tuple[str, Wing | None, str | None, str | None, str | None]


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """The probability of a change, the likeliest number of games before it, and the shares before and after it."""

    chance: float
    games_before: int
    before: float
    since: float


def change_point(games: Sequence[tuple[float, float]], prior: float, share: float, size: float) -> ChangePoint:
    """Look for a change in (hits, chances) per game, oldest first, for at least two games.

    `prior` is the prior probability of a change; `share` and `size` define the Beta prior of every share.
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
    """A share in the opponent's play that changed: which share, in which (set, game), and the observations since."""

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
    """Return an observation's (set, game); None if it is not dated by game."""
    return None if seen.game is None else (seen.set or 1, seen.game)


def play_shifts(observations: Iterable[Observation], rulebook: Rulebook) -> tuple[Shift, ...]:
    """Return the shares that changed, likeliest first, one per kind; only counts dated by game are considered."""
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
    if seen.way is Way.COUNT:
        yield None, seen.count or 0.0, seen.of or 0.0
    elif seen.counts is not None and (total := sum(seen.counts.values())):
        yield from ((option, seen.counts.get(option, 0.0), total) for option in options)


LATEST_FIRST = (Phase.GAMES, Phase.WARM_UP, Phase.BEFORE)
PLAYED = {Moment.BEFORE_MATCH: LATEST_FIRST[2:], Moment.AFTER_WARM_UP: LATEST_FIRST[1:]}
WINDY = frozenset({"moderate", "strong"})
SUNNY = frozenset({"north", "south", "both"})
CHANGE = "conduct.change_of_play"
COUNTED = (Way.COUNT, Way.COUNTS)
PAIR = 2
UNDATED: Game = (0, 0)  # before every game, so dated observations count as later


class Entry(NamedTuple):
    """An observation that counts, its phase, and whether it was made after the last change of play."""

    observation: Observation
    phase: Phase
    current: bool = True


class Entries(NamedTuple):
    """All observations that count, those refused with their reasons, and the changes in how they play."""

    counted: tuple[Entry, ...]
    refused: Mapping[int, str]
    shifts: tuple[Shift, ...]
    change: Game | None = None


def read_entries(situation: Situation, rulebook: Rulebook, habits: Iterable[str] = ()) -> Entries:
    """Split the posted observations into entries that count and refusals; mark those from before a change of play."""
    found: list[Entry] = []
    refused: dict[int, str] = {}
    played = PLAYED.get(situation.moment, LATEST_FIRST)
    ends_differ = situation.context.get("wind") in WINDY or situation.context.get("sun") in SUNNY
    for seen in situation.observations:
        kind = rulebook.kinds[seen.what]
        phase = _latest(played, kind.phases)
        if phase is None:
            shown = "the warm-up" if Phase.WARM_UP in kind.phases else "games"
            refused[seen.index] = f"wrong phase: this can only be seen in {shown}, which has not started yet"
        elif kind.needs_end and seen.end is None and phase is Phase.GAMES and ends_differ:
            refused[seen.index] = "no end: in wind or sun, a count is used only if its end was posted"
        elif seen.way is Way.COUNT and not seen.of:
            refused[seen.index] = "no chances seen"
        elif seen.way is not Way.TEXT or Way.SEEN in kind.ways:  # a note about a sign means that the sign was seen
            found.append(Entry(seen, phase))
    shifts = play_shifts([seen for seen, phase, _ in found if phase is Phase.GAMES], rulebook)
    posted = [game_of(seen) or UNDATED for seen, _, _ in found if seen.what == CHANGE]
    since = dict.fromkeys(habits, max(posted)) if posted and max(posted) > UNDATED else {}
    for shift in shifts:
        since[shift.what] = max(shift.since, since.get(shift.what, UNDATED))
    if since:
        found = [
            Entry(seen, phase, (game := game_of(seen)) is None or game >= since.get(seen.what, UNDATED))
            for seen, phase, _ in found
        ]
    change = max([*posted, *(shift.since for shift in shifts)], default=None)
    return Entries(tuple(found), refused, shifts, change)


@cache
def _latest(played: tuple[Phase, ...], phases: tuple[Phase, ...]) -> Phase | None:
    return next((phase for phase in played if phase in phases), None)


@dataclass(eq=False)
class Pool:
    """Entries of one kind with the same phase, wing, serve, end and window, and their places in the posted list."""

    kind: ObservationKind
    phase: Phase
    entries: Sequence[Observation]
    wing: Wing | None = None
    serve: str | None = None
    end: str | None = None
    current: bool = True
    earlier: Earlier | None = None

    def __post_init__(self) -> None:
        """Sort the entries once, because they are read often."""
        self.today = self.phase is Phase.GAMES and self.earlier is None  # only these lift a belief above the ceiling
        self.places = () if self.earlier else tuple([seen.index for seen in self.entries if seen.index >= 0])
        self.counted = [seen for seen in self.entries if seen.way in COUNTED]
        self.graded = [seen for seen in self.entries if seen.way not in COUNTED]
        self.chances: float = sum(map(chances_of, self.counted))
        self.text = self._text()

    def counts(self, options: tuple[str, ...], court: str | None, way: Way | None) -> tuple[float, float]:
        """Return (hits, chances) for the plain count or these options; if `way` is given, count only that form."""
        hits: list[float] = []
        chances: list[float] = []
        plain = not options or len(self.kind.options) <= PAIR
        for seen in self.counted:
            if (way is not None and seen.way is not way) or (court is not None and seen.court != court):
                continue
            if seen.counts is None:
                if plain:
                    hits.append(seen.count or 0.0)
                    chances.append(seen.of or 0.0)
            elif options:
                hits.append(sum([seen.counts.get(option, 0.0) for option in options]))
                chances.append(sum(seen.counts.values()))
        return fsum(hits), fsum(chances)  # fsum: the order of entries must not matter

    def largest(self) -> tuple[float, float]:
        """Return (hits, chances) for the option that was counted most often."""
        counted = self.spread()
        return max(counted, default=0.0), fsum(counted)

    def spread(self, court: str | None = None) -> list[float]:
        """Return the summed counts of the entries, one per option of the kind."""
        counts = [seen.counts or {} for seen in self.entries if court in (None, seen.court)]
        return [fsum([each.get(option, 0.0) for each in counts]) for option in self.kind.options]

    def _text(self) -> str:
        """Describe what was seen: "middle balls taken on the forehand: 5 of 8", "forehand contact: late"."""
        parts = [_counted_text(self.counted)] if self.counted else []
        parts += dict.fromkeys([graded_words(seen, self.kind) for seen in self.graded])
        side = f" ({self.wing})" if self.wing and self.wing not in self.kind.says else ""
        day = f"{self.earlier.day.isoformat()}: " if self.earlier else ""
        return f"{day}{self.kind.says}{side}: {', '.join(parts)}"


def pools_of(
    entries: Iterable[Entry], kinds: Mapping[str, ObservationKind], earlier: Earlier | None = None
) -> list[Pool]:
    """Pool the entries by kind, phase, wing, serve, end and window. If two count the same balls, keep the larger."""
    together: dict[tuple[str, Phase, Wing | None, str | None, str | None, bool], list[Observation]] = {}
    for seen, phase, current in entries:
        end = seen.end if seen.end and any(measure.ends for measure in kinds[seen.what].measures) else None
        together.setdefault((seen.what, phase, seen.wing, seen.serve, end, current), []).append(seen)
    found = [
        Pool(kinds[what], phase, alike, wing, serve, end, current, earlier)
        for (what, phase, wing, serve, end, current), alike in together.items()
    ]
    twins: dict[tuple[str, Wing | None], dict[str, float]] = {}
    for pool in found:
        of_kind = twins.setdefault((pool.kind.same_as or pool.kind.id, pool.wing), {})
        of_kind[pool.kind.id] = of_kind.get(pool.kind.id, 0.0) + pool.chances
    emptier = {
        (name, wing)
        for (_, wing), of_kind in twins.items()
        if len(of_kind) > 1
        for name in sorted(of_kind, key=lambda name: (of_kind[name], name))[:-1]
    }
    return [pool for pool in found if (pool.kind.id, pool.wing) not in emptier] if emptier else found


def earlier_pools(earlier: Earlier, kinds: Mapping[str, ObservationKind]) -> list[Pool]:
    """Return the pools from an earlier match, for kinds still in the rulebook."""
    known = [seen for seen in earlier.seen if seen.what in kinds]
    phases = (Phase.GAMES if Phase.GAMES in kinds[seen.what].phases else Phase.WARM_UP for seen in known)
    return pools_of(map(Entry, known, phases), kinds, earlier)


def chances_of(seen: Observation) -> float:
    """Return the number of chances in one observation."""
    return (seen.of or 0.0) if seen.counts is None else sum(seen.counts.values())


def _counted_text(seen: Sequence[Observation]) -> str:
    if seen[0].counts is None:
        return f"{fsum([one.count or 0.0 for one in seen]):g} of {fsum([one.of or 0.0 for one in seen]):g}"
    sums: dict[str, float] = {}
    for one in seen:
        for option, count in (one.counts or {}).items():
            sums[option] = sums.get(option, 0.0) + count
    return spread_text(sums)


def spread_text(counts: Mapping[str, float]) -> str:
    """Describe counts by option: "wide 6, T 1". Options without a count are left out."""
    return ", ".join([f"{option} {count:g}" for option, count in counts.items() if count]) or "none"


def graded_words(seen: Observation, kind: ObservationKind) -> str:
    """Describe one graded observation: "rated 1 of 4", "38 s", "high", "seen"."""
    match seen.way:
        case Way.RATING:
            return f"rated {seen.rating:g} of 4"
        case Way.AMOUNT:
            return f"{seen.amount:g}" + (f" {kind.unit}" if kind.unit else "")
        case Way.SEEN | Way.TEXT:
            return "not seen" if seen.seen is False else "seen"
        case _:
            return str(seen.value)
