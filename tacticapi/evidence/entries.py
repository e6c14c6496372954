"""Which observations count, in which phase and with what weight for their age, and which are counted together."""

from collections.abc import Iterable, Mapping, Sequence
from math import fsum
from typing import Any, NamedTuple

from tacticapi.domain.rules import ObservationKind, Rulebook, Term
from tacticapi.domain.situation import Moment, Observation, Phase, Situation, Way, Wing
from tacticapi.scoring.formats import ScoreError
from tacticapi.scoring.score import State, games_since

BEFORE_GAMES = frozenset({Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP})
WINDY = frozenset({"moderate", "strong"})
SUNNY = frozenset({"north", "south", "both"})
PAIR = 2


class Entry(NamedTuple):
    """An observation that counts, its phase, and its weight (0 to 1, halved every few games)."""

    observation: Observation
    phase: Phase
    weight: float


def read_entries(situation: Situation, rulebook: Rulebook, state: State | None) -> tuple[list[Entry], dict[int, str]]:
    """Split the posted observations into entries that count and refusals (place in the list to reason)."""
    entries: list[Entry] = []
    refused: dict[int, str] = {}
    clock = _Clock(situation, rulebook.defaults, state)
    for seen in situation.observations:
        kind = rulebook.kinds[seen.what]
        phase = _phase(kind, situation.moment)
        if phase is None:
            refused[seen.index] = _wrong_phase(kind)
        elif kind.needs_end and seen.end is None and phase is Phase.GAMES and _ends_differ(situation.context):
            refused[seen.index] = "no end: in wind or sun a count is only read together with the end it was taken at"
        elif seen.way is Way.COUNT and not seen.of:
            refused[seen.index] = "no chances seen"
        elif seen.way is not Way.TEXT or Way.SEEN in kind.ways:  # a text about a sign says that it was seen
            entries.append(Entry(seen, phase, clock.weight(seen) if phase is Phase.GAMES and kind.ages else 1.0))
    return entries, refused


def _phase(kind: ObservationKind, moment: Moment) -> Phase | None:
    if Phase.GAMES in kind.phases and moment not in BEFORE_GAMES:
        return Phase.GAMES
    if Phase.WARM_UP in kind.phases and moment is not Moment.BEFORE_MATCH:
        return Phase.WARM_UP
    return Phase.BEFORE if Phase.BEFORE in kind.phases else None


def _wrong_phase(kind: ObservationKind) -> str:
    shown = "the warm-up" if Phase.WARM_UP in kind.phases else "games"
    return f"wrong phase: this can only be seen in {shown}, which has not been played at this moment"


def _ends_differ(context: Mapping[str, Any]) -> bool:
    return context.get("wind") in WINDY or context.get("sun") in SUNNY


class _Clock:
    """Weighs a games observation by the games completed since."""

    def __init__(self, situation: Situation, defaults: Mapping[str, Any], state: State | None) -> None:
        self._state = state
        self._half_life = float(defaults["evidence"]["half_life_games"])
        self._games_in_a_set = int(defaults["evidence"]["games_in_a_set"])
        posted = {(o.set, o.game) for o in situation.observations if o.set or o.game}
        self._latest = 0 if state else max((self._counted(*dated) for dated in posted), default=0)
        self._weights: dict[tuple[int | None, int | None], float] = {}

    def weight(self, seen: Observation) -> float:
        """2^(-age/half-life); an undated observation, or one dated after the score, counts as of now."""
        if not (seen.set or seen.game):
            return 1.0
        dated = (seen.set, seen.game)
        if dated not in self._weights:
            self._weights[dated] = float(2.0 ** (-self._age(*dated) / self._half_life))
        return self._weights[dated]

    def _age(self, set_number: int | None, game: int | None) -> int:
        if self._state is None:
            return max(0, self._latest - self._counted(set_number, game))
        try:
            return games_since(self._state, set_number or len(self._state.sets) + 1, game)
        except ScoreError:
            return 0

    def _counted(self, set_number: int | None, game: int | None) -> int:
        """Games completed at the end of that game, if every earlier set had the usual number of games."""
        return ((set_number or 1) - 1) * self._games_in_a_set + (game or 0)


class Counted(NamedTuple):
    """Entries that say counts, their places in the posted list, the chances seen (unweighted), and all in words."""

    entries: list[Entry]
    places: tuple[int, ...]
    chances: float
    text: str


class Pool:
    """The entries of one kind that share their phase, wing and serve."""

    def __init__(self, kind: ObservationKind, phase: Phase, wing: Wing | None, serve: str | None) -> None:
        self.kind = kind
        self.phase = phase
        self.wing = wing
        self.serve = serve
        self.entries: list[Entry] = []
        self._counted: dict[tuple[str | None, bool], Counted | None] = {}

    def on_court(self, court: str | None) -> list[Entry]:
        """The entries seen on this court; all of them for None."""
        return self.entries if court is None else [e for e in self.entries if e.observation.court == court]

    def counted(self, term: Term) -> Counted | None:
        """The counts that the term can read, None where there are none; many terms read the same ones."""
        which = (term.court, bool(term.options))
        if which not in self._counted:
            entries = counted_by(term, self.kind, self.on_court(term.court))
            self._counted[which] = self._read(entries) if entries else None
        return self._counted[which]

    def _read(self, entries: list[Entry]) -> Counted:
        places = tuple([e.observation.index for e in entries])
        return Counted(entries, places, sum([chances_of(e) for e in entries]), counted_text(self.kind, entries))


def pools_by_kind(entries: Iterable[Entry], kinds: Mapping[str, ObservationKind]) -> dict[str, list[Pool]]:
    """Split entries by kind, phase, wing and serve, in the order in which they come."""
    found: dict[str, dict[tuple[Phase, Wing | None, str | None], Pool]] = {}
    for entry in entries:
        seen = entry.observation
        shared = (entry.phase, seen.wing, seen.serve)
        of_kind = found.setdefault(seen.what, {})
        if shared not in of_kind:
            of_kind[shared] = Pool(kinds[seen.what], *shared)
        of_kind[shared].entries.append(entry)
    return {what: list(of_kind.values()) for what, of_kind in found.items()}


def counted_by(term: Term, kind: ObservationKind, entries: Iterable[Entry]) -> list[Entry]:
    """The entries that say counts which the term can read."""
    # a plain count beside a split is the share of the first of two options; of three or more it says none of them
    plain = not term.options or len(kind.options) <= PAIR
    ways = (Way.COUNTS, Way.COUNT) if plain else (Way.COUNTS,)
    return [e for e in entries if e.observation.way in ways]


def pooled(entries: Iterable[Entry], options: tuple[str, ...] = ()) -> tuple[float, float]:
    """Weighted (hits, chances) over entries: of the count, or of these options of the counts."""
    hits: list[float] = []
    chances: list[float] = []
    for seen, _, weight in entries:
        if seen.way is Way.COUNT:
            hits.append(weight * (seen.count or 0.0))
            chances.append(weight * (seen.of or 0.0))
        elif seen.counts is not None and options:
            hits.append(weight * sum([seen.counts.get(option, 0.0) for option in options]))
            chances.append(weight * sum(seen.counts.values()))
    return fsum(hits), fsum(chances)  # fsum: the order of entries must not show


def spread(entries: Sequence[Entry], kind: ObservationKind) -> list[float]:
    """Weighted counts over entries, one an option of the kind."""
    return [fsum([e.weight * (e.observation.counts or {}).get(o, 0.0) for e in entries]) for o in kind.options]


def chances_of(entry: Entry) -> float:
    """Chances that were seen, not weighted by age."""
    seen = entry.observation
    return (seen.of or 0.0) if seen.way is Way.COUNT else sum((seen.counts or {}).values())


def counted_text(kind: ObservationKind, entries: Sequence[Entry]) -> str:
    """What was counted over all entries, unweighted: "middle balls taken on the forehand: 5 of 8"."""
    first = entries[0].observation
    side = f" ({first.wing})" if first.wing and first.wing not in kind.says else ""
    if first.way is Way.COUNT:
        hits, chances = pooled([entry._replace(weight=1.0) for entry in entries])
        return f"{kind.says}{side}: {hits:g} of {chances:g}"
    sums: dict[str, float] = {}
    for entry in entries:
        for option, count in (entry.observation.counts or {}).items():
            sums[option] = sums.get(option, 0.0) + count
    return f"{kind.says}{side}: {spread_text(sums)}"


def spread_text(counts: Mapping[str, float]) -> str:
    """Counts by option in words: "wide 6, T 1"; options never seen are left out."""
    return ", ".join([f"{option} {count:g}" for option, count in counts.items() if count]) or "none"
