"""One opponent met by five players: warm-up, four games, the rest of a set, and what each player would choose when.

The five play the sensible plan, the advice, free choice by the prices of the service and by the old table, and what is
best. All but the first choose by one rule, and what their tactics are worth together is worked out in one way.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.situation import Tries
from tests.rehearsal.old_prices import old_price
from tests.rehearsal.outcome import AtStage, Believed, Held, Line, Reach, Rehearsed, Stage
from tests.rehearsal.players import AWAY, Record, Told, ask, believe, guarded, leaned, match_chances, tries_of
from tests.rehearsal.world.match import Court, Point, Score, play_game
from tests.rehearsal.world.pairing import Pairing, draw_pairing
from tests.rehearsal.world.seen import MISCOUNTED, MISSED, Observer, write_games
from tests.rehearsal.world.tactics import CHANGES, Chosen, options, played, reads_serves
from tests.rehearsal.world.truths import misses_more_on_the_backhand, truths
from tests.rehearsal.world.warm_up import games_looks, warm_up
from tests.rehearsal.world.worlds import HOME, World

EARLY_GAMES = 4
NOTED_TOGETHER = 2  # games written down in one go
TAKES_UP = 0.0  # a point: whatever claims to gain more is played
COUNT = {Stage.WARM_UP: 3, Stage.FOUR_GAMES: 2, Stage.SET: 3}  # tactics that every player may choose


@dataclass(frozen=True, slots=True)
class Manner:
    """How a rehearsal is run.

    `errs` multiplies the shares of chances that the observer misses and miscounts. With `beliefs_only` nobody is
    advised and the sensible plan is played throughout.
    """

    errs: float = 1.0
    beliefs_only: bool = False


@dataclass(slots=True)
class Meeting:
    """The advised player's match as far as it has gone; `best` is what an all-knowing player chooses, by number."""

    pairing: Pairing
    adviser: Adviser
    observer: Observer
    score: Score
    notes: list[dict[str, Any]]
    points: list[Point]
    best: list[tuple[Chosen, ...]]


def rehearse_one(adviser: Adviser, seed: int, index: int, manner: Manner = Manner(), world: World = HOME) -> Rehearsed:
    """Meet one opponent of a world."""
    errs = manner.errs
    pairing, rng = draw_pairing(seed, index, world), Random(f"{seed}/{index}")
    observer = Observer(rng, min(0.9, MISSED * errs), min(0.45, MISCOUNTED * errs))
    notes = warm_up(pairing.nature, pairing.other, pairing.habits, observer, rng)
    best = [] if manner.beliefs_only else pairing.best(max(COUNT.values()), pairing.singles())
    m = Meeting(pairing, adviser, observer, Score(), notes, [], best)
    stages: dict[Stage, AtStage] = {}
    first, lean, stages[Stage.WARM_UP] = _stage(m, Stage.WARM_UP, ())
    court = Court(pairing.own, pairing.other, pairing.nature, pairing.habits, rng, *_plan(pairing, first, lean))
    _play(m, court, EARLY_GAMES)
    m.notes += games_looks(pairing.nature, pairing.habits, observer, rng)
    then, lean, stages[Stage.FOUR_GAMES] = _stage(m, Stage.FOUR_GAMES, tries_of(first, m.points, pairing))
    early = len(m.points)
    court.play(*_plan(pairing, then, lean))
    _play(m, court, None)
    tries = tries_of(then, m.points[early:], pairing)
    known = {t.tactic for t in tries}
    tries += tuple(t for t in tries_of(first, m.points[:early], pairing) if t.tactic not in known)
    _, _, stages[Stage.SET] = _stage(m, Stage.SET, tries)
    return Rehearsed(world.name, index, stages)


def _plan(
    pairing: Pairing, chosen: Sequence[Chosen], lean: tuple[int, int] | None
) -> tuple[Any, tuple[int, int] | None]:
    return played(pairing.plan, chosen, pairing.nature.left), lean if reads_serves(chosen) else None


def _play(m: Meeting, court: Court, games: int | None) -> None:
    """Play so many games, or to the end of the first set, and write them down two at a time."""
    stretch: list[list[Point]] = []
    while not m.score.sets and (games is None or m.score.played < games):
        stretch.append(play_game(court, m.score))
        m.points += stretch[-1]
        if len(stretch) == NOTED_TOGETHER or m.score.sets or m.score.played == games:
            m.notes += write_games(m.observer, stretch, m.pairing.same_handed, set=1, game=m.score.played)
            stretch = []


def _stage(m: Meeting, stage: Stage, tries: tuple[Tries, ...]) -> tuple[list[Chosen], tuple[int, int] | None, AtStage]:
    """Ask for advice, and work out what every player's choice is worth."""
    score = m.score.wire() if m.points else None
    advised = ask if m.best else believe
    told = advised(m.adviser, m.pairing, stage, Record(m.notes, m.points, score, tries))
    lean = leaned(m.notes)
    chosen = taken_up([(line.price, line.play) for line in told.lines], COUNT[stage])
    reach = _reach(m, told, chosen, lean, COUNT[stage]) if m.best else None
    return chosen, lean, AtStage(_beliefs(m.pairing, told), _weaker_wing(m.pairing, told), reach)


def _reach(m: Meeting, told: Told, chosen: Sequence[Chosen], lean: tuple[int, int] | None, count: int) -> Reach:
    def point(plays: Sequence[Chosen]) -> float:
        return m.pairing.chances(plays, lean).point

    user, same, away = m.pairing.user, m.pairing.same_handed, guarded(m.notes)
    old = [old_price(option, told.beliefs, user.ratings, same_handed=same) for option in options()]
    free, by_old = (best_priced(prices, count, away) for prices in (told.prices, old))
    best = m.pairing.chances(m.best[count - 1], m.pairing.favourites).point
    return Reach(point(()), point(chosen), point(free), point(by_old), best, _held(m, told.lines, lean))


def best_priced(prices: Sequence[float], count: int, away: int) -> list[Chosen]:
    """Choose the options with the largest prices; a serve away from a lean has one aim, the side that is guarded."""
    priced = [(p, one) for p, one in zip(prices, options(), strict=True) if one.tactic != AWAY or one.aim == away]
    return taken_up(sorted(priced, key=lambda one: -one[0]), count)


def taken_up(priced: Iterable[tuple[float, Chosen]], count: int) -> list[Chosen]:
    """Choose the first tactics that claim a gain, at most `count`, each once."""
    chosen: dict[str, Chosen] = {}
    for price, option in priced:
        if price > TAKES_UP and len(chosen) < count:
            chosen.setdefault(option.tactic, option)
    return list(chosen.values())


def _held(m: Meeting, lines: Sequence[Line], lean: tuple[int, int] | None) -> tuple[Held, ...]:
    playable = [line for line in lines if line.play.tactic in CHANGES]
    plain, *each = (m.pairing.chances(chosen, lean) for chosen in ((), *((line.play,) for line in playable)))
    before, *after = match_chances(m.score, [plain, *each])
    return tuple(
        Held(line, reached.point - plain.point, won - before)
        for line, reached, won in zip(playable, each, after, strict=True)
    )


def _beliefs(pairing: Pairing, told: Told) -> tuple[Believed, ...]:
    true = truths(pairing)
    return tuple(Believed(*key, told.priors[key], p, true[key]) for key, p in told.beliefs.items() if key in true)


def _weaker_wing(pairing: Pairing, told: Told) -> Believed:
    return Believed("backhand_weaker", "backhand", *told.backhand_weaker, misses_more_on_the_backhand(pairing))
