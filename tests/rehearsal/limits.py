"""What keeps the advice from more: what would be captured if more were seen, or if what is usual were known.

    python -m tests.rehearsal.limits --opponents 40 --seed 31

A row gives what is captured in each world, none of them shifted, and the harm in the mean. Prices are taken as they
are, then without what each claims too much or too little in the mean of its world (the usual shares known), then scaled
by how much gains rise with it (the prices known too). Both corrections are read off the very opponents: they bound what
could be reached, and nothing else may use them.
"""

from collections import defaultdict
from collections.abc import Sequence
from random import Random
from statistics import fmean
from typing import NamedTuple

import click
import numpy as np
from numpy.typing import NDArray

from tacticapi.advice import Adviser
from tests.rehearsal.measures import HARM
from tests.rehearsal.one_opponent import best_priced, taken_up
from tests.rehearsal.outcome import Stage
from tests.rehearsal.players import Record, adviser, ask, guarded, leaned
from tests.rehearsal.world.match import Court, Point, Score, play_game
from tests.rehearsal.world.pairing import Pairing, draw_pairing
from tests.rehearsal.world.seen import MISCOUNTED, MISSED, Observer, write_games
from tests.rehearsal.world.tactics import Chosen, options
from tests.rehearsal.world.warm_up import games_looks, warm_up
from tests.rehearsal.world.worlds import WORLDS, World

COUNT = 3  # tactics that may be chosen
Prices = NDArray[np.float64]


class Watched(NamedTuple):
    """How much was seen before the advice: so many sets, and how many times as often as usual the observer errs."""

    says: str
    sets: int
    errs: float


class Met(NamedTuple):
    """One opponent: what was advised, the price and true gain of every option, the most that could be gained."""

    world: str
    pairing: Pairing
    lean: tuple[int, int] | None
    away: int
    advised: list[Chosen]
    prices: Sequence[float]
    gains: Sequence[float]
    best: float

    def gain(self, chosen: Sequence[Chosen]) -> float:
        """Return what these tactics add to the sensible plan, in chances to win a point."""
        return self.pairing.chances(chosen, self.lean).point - self.pairing.chances(()).point


def meet(adviser: Adviser, world: World, seed: int, index: int, watched: Watched) -> Met:
    """Watch one opponent for a warm-up and so many sets of the sensible plan, and ask for advice at the set break."""
    pairing, rng = draw_pairing(seed, index, world), Random(f"{seed}/{index}")
    observer = Observer(rng, MISSED * watched.errs, MISCOUNTED * watched.errs)
    notes = warm_up(pairing.nature, pairing.other, pairing.habits, observer, rng)
    court = Court(pairing.own, pairing.other, pairing.nature, pairing.habits, rng, pairing.plan, None)
    points: list[Point] = []
    for _ in range(watched.sets):
        score = Score()
        while not score.sets:
            game = play_game(court, score)
            points += game
            notes += write_games(observer, [game], pairing.same_handed, set=1, game=score.played)
    notes += games_looks(pairing.nature, pairing.habits, observer, rng)
    told = ask(adviser, pairing, Stage.SET, Record(notes, points, score.wire()))
    lean = leaned(notes)
    best = pairing.chances(pairing.best(COUNT, pairing.singles())[-1], pairing.favourites).point
    plain = pairing.chances(()).point
    gains = [pairing.chances((one,), lean).point - plain for one in options()]
    advised = taken_up([(line.price, line.play) for line in told.lines], COUNT)
    return Met(world.name, pairing, lean, guarded(notes), advised, told.prices, gains, best - plain)


def corrected(met: Sequence[Met], *, slopes: bool) -> Prices:
    """Return all prices, (opponents, options), without what they claim wrongly in the mean of each world.

    With `slopes` also scaled by the slope of the gains in the prices.
    """
    prices, gains = np.array([m.prices for m in met]), np.array([m.gains for m in met])
    worlds = np.array([m.world for m in met])
    for world in set(worlds):
        here = worlds == world
        centred = prices[here] - prices[here].mean(axis=0)
        if slopes:
            true = gains[here] - gains[here].mean(axis=0)
            centred *= (centred * true).sum(axis=0) / np.maximum((centred * centred).sum(axis=0), 1e-12)
        prices[here] = centred + gains[here].mean(axis=0)
    return prices


def row(name: str, met: Sequence[Met], chosen: Sequence[Sequence[Chosen]]) -> str:
    """Return a Markdown row: what these choices capture in each world and in the mean, and how often they harm."""
    gained: dict[str, list[float]] = defaultdict(list)
    best: dict[str, float] = defaultdict(float)
    for m, choice in zip(met, chosen, strict=True):
        gained[m.world].append(m.gain(choice))
        best[m.world] += m.best
    captured = [sum(gains) / best[world] for world, gains in gained.items()]
    harm = fmean(gain < -HARM for gains in gained.values() for gain in gains)
    return "| " + " | ".join([name, *(f"{x:.2f}" for x in (*captured, fmean(captured), harm))]) + " |"


@click.command()
@click.option("--opponents", default=40, show_default=True, type=click.IntRange(2), help="Per world.")
@click.option("--seed", default=31, show_default=True, type=click.IntRange(0))
def limits(*, opponents: int, seed: int) -> None:
    """Print what keeps the advice from more, as a Markdown table."""
    asked = adviser()
    click.echo("| " + " | ".join(["", *WORLDS, "mean", "harm"]) + " |\n" + "|---" * (len(WORLDS) + 3) + "|")
    for watched in (Watched("a set watched", 1, 1.0), Watched("six sets, nothing missed", 6, 0.0)):
        met = [meet(asked, world, seed, index, watched) for world in WORLDS.values() for index in range(opponents)]
        click.echo(row(f"{watched.says}: advice", met, [m.advised for m in met]))
        for name, prices in (
            ("free choice", np.array([m.prices for m in met])),
            ("usual shares known", corrected(met, slopes=False)),
            ("prices known too", corrected(met, slopes=True)),
        ):
            chosen = [best_priced(list(one), COUNT, m.away) for one, m in zip(prices, met, strict=True)]
            click.echo(row(f"{watched.says}: {name}", met, chosen))


if __name__ == "__main__":
    limits(prog_name="python -m tests.rehearsal.limits")
