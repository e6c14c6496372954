"""Fill in what a line aims at: the wing, the serves that reach it, favourite spots, the court to return in.

A `say` may hold {wing} and {other_wing}; if the wing is unknown it says "weaker wing". A `named` line is used
instead of `say` if all its slots are known: {targets}, {spots}, {court}, {returns} and {left} besides.
"""

from collections.abc import Iterator, Mapping, Sequence
from string import Formatter

from tacticapi.domain.advice import Reason, Target
from tacticapi.domain.rules import ObservationKind
from tacticapi.domain.situation import Game, Situation, Wing
from tacticapi.evidence.changes import game_of
from tacticapi.evidence.spots import COURTS, KINDS, SPOTS, Cell

UNKNOWN = {"wing": "weaker wing", "other_wing": "other wing", "site": "{site}"}
NAMED: Mapping[Wing | None, dict[str, str]] = {w: {"wing": str(w), "other_wing": str(w.other)} for w in Wing}
RETURNS_IN = "record.returns_in"
FEWEST = 5  # serves or returns in a court from which it is named
LEAD = 0.55  # of the serves to a court, for a favourite spot
GAP = 0.15  # between the returns in of the two courts
MOVED = 0.25  # of a habit, from before a change of play to after it


class Slots:
    """Fills in the names that one situation gives to a line."""

    def __init__(self, situation: Situation, cells: Sequence[Cell], courts: Sequence[str], left: str) -> None:
        """Keep the courts to which the next point may be served, and what a change of play left open."""
        self._left = left
        self._cells = [cell for cell in cells if cell.court and (not courts or cell.court in courts)]
        self._returns = _returns(situation)

    def filled(
        self, say: str, named: str | None, wing: Wing | None, targets: Sequence[Target]
    ) -> tuple[str, tuple[Reason, ...]]:
        """Return the line, named if possible, and the counts that it rests on."""
        known = NAMED.get(wing, {})
        if named:
            aims = " and ".join(f"{one.spot} in the {one.court} court" for one in targets)
            every = {**known, "targets": aims, **self._known()}
            asked = {name for _, name, _, _ in Formatter().parse(named) if name}
            if all(every.get(name) for name in asked):
                spots = self._of_spots() if "spots" in asked else ()
                return named.format(**every), (*spots, *(self._of_returns() if "returns" in asked else ()))
        return say.format(**{**UNKNOWN, **known}), ()

    def _known(self) -> dict[str, str]:
        spots = " and ".join(f"{spot} in the {cell.court} court" for cell, spot, _, _ in self._favourites())
        known = {"spots": spots, "left": self._left}
        if len(self._returns) == len(COURTS):
            best, worst = sorted(self._returns.items(), key=lambda each: -each[1][0] / each[1][1])
            (court, (won, of)), (other, (less, among)) = best, worst
            if won / of - less / among >= GAP:
                told = f"{won:g} of {of:g} back there, {less:g} of {among:g} in the {other} court"
                known |= {"court": court, "returns": told}
        return known

    def _favourites(self) -> Iterator[tuple[Cell, str, float, float]]:
        """Yield the courts that have a favourite spot, with its count and all serves counted there."""
        for cell in self._cells:
            spread = [pool.spread(None if KINDS[pool.kind.id] else cell.court) for pool in cell.pools]
            counts = [sum(part) for part in zip(*spread, strict=True)]
            place = max(range(len(SPOTS)), key=lambda n: counts[n])
            if sum(counts) >= FEWEST and cell.alphas[place] / sum(cell.alphas) >= LEAD:
                yield cell, SPOTS[place], counts[place], sum(counts)

    def _of_spots(self) -> Iterator[Reason]:
        for cell, spot, count, of in self._favourites():
            yield Reason(
                f"{cell.serve} serves to the {cell.court} court: {spot} {count:g} of {of:g}", cell.pools[0].kind.id
            )

    def _of_returns(self) -> Iterator[Reason]:
        for court, (won, of) in self._returns.items():
            yield Reason(f"your returns in from the {court} court: {won:g} of {of:g}", RETURNS_IN)


def left_open(situation: Situation, change: Game | None, kinds: Mapping[str, ObservationKind]) -> str:
    """Return what the opponent's last change of play leaves open, by the habit that changed most."""
    if change is None:
        return ""
    shares: dict[str, dict[bool, list[float]]] = {}
    for seen in situation.observations:
        kind, game = kinds[seen.what], game_of(seen)
        if game and seen.of and (kind.if_more or kind.if_less):
            counted = shares.setdefault(seen.what, {}).setdefault(game >= change, [0.0, 0.0])
            counted[0] += seen.count or 0.0
            counted[1] += seen.of
    moves = {
        what: by[True][0] / by[True][1] - by[False][0] / by[False][1]
        for what, by in shares.items()
        if len(by) == len((True, False)) and min(by[True][1], by[False][1]) >= FEWEST
    }
    most = max(moves, key=lambda what: abs(moves[what]), default="")
    if abs(moves.get(most, 0.0)) < MOVED:
        return ""
    return (kinds[most].if_more if moves[most] > 0.0 else kinds[most].if_less) or ""


def unnamed(say: str) -> str:
    """Return a line with its slots filled for an unknown wing."""
    return say.format(**UNKNOWN)


def _returns(situation: Situation) -> dict[str, tuple[float, float]]:
    """Return our own returns in play by court, for courts with enough of them."""
    sums: dict[str, tuple[float, float]] = {}
    for seen in situation.observations:
        if seen.what == RETURNS_IN and seen.court and seen.of:
            won, of = sums.get(seen.court, (0.0, 0.0))
            sums[seen.court] = (won + (seen.count or 0.0), of + seen.of)
    return {court: counted for court, counted in sums.items() if counted[1] >= FEWEST}
