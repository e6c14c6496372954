"""One opponent met by four players: warm-up, four games, the rest of a set, and what each player would choose when."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.advice import Advice, Suggestion
from tacticapi.domain.situation import Tries
from tests.rehearsal.match_chance import match_chances
from tests.rehearsal.outcome import AtStage, Believed, Rehearsed, Stage, Suggested
from tests.rehearsal.players import Record, ask, drawn, leaned, plays_of, tries_of
from tests.rehearsal.prices import Most, by_price
from tests.rehearsal.world.match import Court, Point, Score, play_game
from tests.rehearsal.world.pairing import Chances, Pairing, draw_pairing
from tests.rehearsal.world.seen import MISCOUNTED, MISSED, Observer, write_games
from tests.rehearsal.world.tactics import CHANGES, Chosen, played, reads_serves
from tests.rehearsal.world.truths import truths
from tests.rehearsal.world.warm_up import games_looks, warm_up

EARLY_GAMES = 4
NOTED_TOGETHER = 2  # games written down in one go
MOST = 10  # suggestions that may be asked for
TAKES_UP = 0.001  # a point: nobody changes their game for less
COUNT = {Stage.WARM_UP: 3, Stage.FOUR_GAMES: 2, Stage.SET: 3}  # tactics that every player may choose


@dataclass(frozen=True, slots=True)
class Manner:
    """How a rehearsal is run.

    `errs` multiplies the shares of chances that the observer misses and miscounts; `tells_tries`: whether what was
    tried is posted; `skips`: whether a suggestion that this world cannot express is passed over for the next one;
    `takes_up`: what a suggestion has to claim a point for the user to play it.
    """

    errs: float = 1.0
    tells_tries: bool = True
    skips: bool = False
    takes_up: float = TAKES_UP


@dataclass(slots=True)
class Meeting:
    """The advised player's match as far as it has gone."""

    pairing: Pairing
    adviser: Adviser
    observer: Observer
    rng: Random
    score: Score
    notes: list[dict[str, Any]]
    points: list[Point]
    singles: list[float]
    best: list[tuple[Chosen, ...]]
    manner: Manner


def rehearse_one(adviser: Adviser, seed: int, index: int, manner: Manner = Manner()) -> Rehearsed:
    """Meet one opponent."""
    errs = manner.errs
    pairing, rng = draw_pairing(seed, index), Random(f"{seed}/{index}")
    observer = Observer(rng, min(0.9, MISSED * errs), min(0.45, MISCOUNTED * errs))
    notes = warm_up(pairing.nature, pairing.other, pairing.habits, observer, rng)
    singles = pairing.singles()
    m = Meeting(pairing, adviser, observer, rng, Score(), notes, [], singles, pairing.best(3, singles), manner)
    stages: dict[Stage, AtStage] = {}
    chosen, lean, stages[Stage.WARM_UP] = _stage(m, Stage.WARM_UP, ())
    court = Court(pairing.own, pairing.other, pairing.nature, pairing.habits, rng, *_plan(pairing, chosen, lean))
    _play(m, court, EARLY_GAMES)
    m.notes += games_looks(pairing.nature, pairing.habits, observer, rng)
    first = chosen
    chosen, lean, stages[Stage.FOUR_GAMES] = _stage(m, Stage.FOUR_GAMES, tuple(first))
    early = len(m.points)
    court.play(*_plan(pairing, chosen, lean))
    _play(m, court, None)
    _, _, stages[Stage.SET] = _stage(m, Stage.SET, tuple(chosen), early, tuple(first))
    own = (*(float(r) for r in pairing.user.ratings.values()), float(pairing.same_handed))
    return Rehearsed(index, stages, _counts(m.notes), own, tuple(singles))


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


def _stage(
    m: Meeting, stage: Stage, playing: tuple[Chosen, ...], since: int = 0, before: tuple[Chosen, ...] = ()
) -> tuple[list[Chosen], tuple[int, int] | None, AtStage]:
    """Ask for advice and work out what every player's choice is worth."""
    tries: tuple[Tries, ...] = ()
    if m.manner.tells_tries:
        tries = tries_of(playing, m.points[since:], m.pairing)
        known = {t.tactic for t in tries}
        tries += tuple(t for t in tries_of(before, m.points[:since], m.pairing) if t.tactic not in known)
    score = m.score.wire() if m.points else None
    advice = ask(m.adviser, m.pairing, stage, Record(m.notes, m.points, score, tries), MOST if m.manner.skips else None)
    if m.manner.skips:
        playable = [s for s in advice.suggestions if s.tactic in CHANGES]
        advice = replace(advice, suggestions=tuple(playable[: COUNT[stage]]))
    plays, lean = plays_of(advice, m.notes), leaned(m.notes)
    least = m.manner.takes_up
    chosen = [one for s, one in zip(advice.suggestions, plays, strict=True) if s.gain.point >= least]
    plain = m.pairing.chances(())
    count = COUNT[stage]
    believed = _beliefs(m.pairing, advice)
    reach = AtStage(
        plain=plain.point,
        advised=m.pairing.chances(chosen, lean).point,
        drawn=m.pairing.chances(drawn(m.rng, count), lean).point,
        best=m.pairing.chances(m.best[count - 1], m.pairing.favourites).point,
        suggested=_held_against(m, advice.suggestions, plays, lean, plain),
        believed=believed,
        by_price=by_price(m.adviser.rulebook, m.pairing, believed, m.singles, Most(count, least)),
    )
    return chosen, lean, reach


def _held_against(
    m: Meeting,
    suggestions: Sequence[Suggestion],
    chosen: Sequence[Chosen],
    lean: tuple[int, int] | None,
    plain: Chances,
) -> tuple[Suggested, ...]:
    each = [m.pairing.chances((one,), lean) for one in chosen]
    before, *after = match_chances(m.score, [plain, *each])
    return tuple(
        Suggested(
            one.tactic, one.aim, tuple((r.trait, r.wing.value if r.wing else None) for r in s.rests_on), s.gain.point,
            reached.point - plain.point, one.tactic in CHANGES, s.gain.match_low, s.gain.match_high,
            won - before if one.tactic in CHANGES else None,
        )
        for s, one, reached, won in zip(suggestions, chosen, each, after, strict=True)
    )  # fmt: skip


def _beliefs(pairing: Pairing, advice: Advice) -> tuple[Believed, ...]:
    true = truths(pairing)
    named = ((b.trait, b.wing.value if b.wing else None, b) for b in advice.beliefs)
    return tuple(Believed(t, w, b.prior, b.probability, true[t, w]) for t, w, b in named if (t, w) in true)


def _counts(notes: Sequence[dict[str, Any]]) -> tuple[tuple[str, str | None, str | None, float, float], ...]:
    totals: dict[tuple[str, str | None, str | None], list[float]] = {}
    for note in notes:
        if "of" in note:
            total = totals.setdefault((note["what"], note.get("wing"), note.get("serve")), [0.0, 0.0])
            total[0] += note["count"]
            total[1] += note["of"]
    return tuple((*key, a, b) for key, (a, b) in totals.items())
