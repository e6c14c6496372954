"""What a friendly five-minute warm-up shows: soft balls, polite strokes, and shares that depend on what was fed."""

from collections.abc import Iterator
from random import Random
from typing import Any

from tests.rehearsal.world.habits import Habits
from tests.rehearsal.world.match import OFF_DAY
from tests.rehearsal.world.qualities import Nature, Player
from tests.rehearsal.world.seen import Notebook, Observer
from tests.rehearsal.world.shots import BACKHAND, BALL, FIRST_PLAY, FOREHAND, MIDDLE, PLAY_WING, SIDES, SPOTS, state
from tests.rehearsal.world.sightings import Sighting
from tests.rehearsal.world.strokes import HARD, USUAL_ERROR

FRIENDLY = -0.6  # log-odds by which a friendly ball is easier to keep in
POLITE_ROUND = 0.75  # share of the usual running round that is left when nothing is at stake
HIDES = 0.8  # spread of what a warm-up rating shows beside the quality


def warm_up(nature: Nature, other: Player, habits: Habits, observer: Observer, rng: Random) -> list[dict[str, Any]]:
    """The notes of one warm-up in plain form."""
    book = Notebook()
    fed = (
        rng.randint(6, 11),
        rng.randint(6, 11),
        rng.randint(3, 6),
    )  # to the forehand, to the backhand, through the middle
    book.add(observer, _ground(nature, other, habits, fed, rng))
    book.add(observer, _serves(habits, rng))
    records = book.records()
    records += [{"what": f"warmup.fed_{SIDES[side]}", "amount": fed[side]} for side in (FOREHAND, BACKHAND)]
    records += [
        {"what": what, "rating": rating, **({"wing": wing} if wing else {})}
        for what, wing, quality, usual in _ratings(nature, rng)
        if (rating := observer.rates(quality, usual)) is not None
    ]
    records += [
        {"what": what, "value": word}
        for what, value, options in _looks(nature, habits, rng)
        if (word := observer.names(value, options)) is not None
    ]
    if rng.random() > observer.missed:
        records.append({"what": "warmup.smash_asked", "amount": max(0, round(2 + nature["net"] + rng.gauss(0, 1)))})
    return records


def _ground(z: Nature, other: Player, habits: Habits, fed: tuple[int, ...], rng: Random) -> Iterator[Sighting]:
    nerves = max(0.0, 0.25 * z["nerves"]) * OFF_DAY
    level = z.world.misses + z.world.shifts["made"]
    taken = {side: _on_forehand(habits, side) for side in range(3)}
    taken[BACKHAND] *= POLITE_ROUND
    for side in range(3):
        for _ in range(fed[side]):
            forehand = rng.random() < taken[side]
            if side == MIDDLE:
                yield Sighting("warmup.middle_ball_on_forehand", forehand)
            if side == BACKHAND:
                yield Sighting("warmup.ran_round_backhand", forehand)
            wing = 0 if forehand else 1
            missed = _logistic(
                USUAL_ERROR + HARD["neutral"] + FRIENDLY + level[wing] + nerves - other.handle[BALL["neutral"], wing]
            )
            yield Sighting(f"warmup.{SIDES[wing]}_made", rng.random() >= missed)


def _on_forehand(habits: Habits, side: int) -> float:
    at = state("neutral", side)
    plays = slice(FIRST_PLAY[at], FIRST_PLAY[at + 1])
    return float(habits.mix[plays][PLAY_WING[plays] == FOREHAND].sum())


def _serves(habits: Habits, rng: Random) -> Iterator[Sighting]:
    for _ in range(rng.randint(4, 8)):
        court = rng.randrange(2)
        shares = habits.serves[0, court].sum(axis=0)
        shown = [0.6 * share + 0.4 / 3 for share in shares]  # practice goes round the box more evenly
        yield Sighting("warmup.serve_spots", rng.choices(SPOTS, shown)[0], None, None, SPOTS)


def _ratings(z: Nature, rng: Random) -> Iterator[tuple[str, str | None, float, float]]:
    """Kind, wing, shown quality (about standard normal) and the usual rating."""
    asked = [
        ("warmup.high_forehand", None, "high_forehand"), ("warmup.high_backhand", None, "high_backhand"),
        ("warmup.low_forehand", None, "low_forehand"), ("warmup.low_backhand", None, "low_backhand"),
        ("warmup.against_pace", "forehand", "pace_forehand"), ("warmup.against_pace", "backhand", "pace_backhand"),
        ("warmup.own_pace", None, "own_pace"), ("warmup.volley_forehand", None, "volley_forehand"),
        ("warmup.volley_backhand", None, "volley_backhand"), ("warmup.smash_quality", None, "overhead"),
        ("warmup.first_serve_pace", None, "power"), ("warmup.footwork", None, "legs"),
    ]  # fmt: skip
    for what, wing, quality in asked:
        yield what, wing, 0.8 * z[quality] + HIDES * rng.gauss(0.0, 1.0), 2.0
    yield "warmup.nerves", None, z["nerves"] + HIDES * rng.gauss(0.0, 1.0), 1.0


def _looks(z: Nature, habits: Habits, rng: Random) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Kind, word and the words there are."""

    def shown(quality: str) -> float:
        return z[quality] + HIDES * rng.gauss(0.0, 1.0)

    for wing in ("forehand", "backhand"):
        late, cramped = shown(f"pace_{wing}") < -1.2, shown(f"body_{wing}") < -1.2
        contact = "late" if late else "cramped" if cramped else "clean"
        yield f"warmup.{wing}_contact", contact, ("clean", "late", "cramped")
    forward, net = shown("forward"), shown("net")
    comes = "waits for second bounce" if forward < -0.9 else "comes in" if net > 0.2 else "steps and retreats"
    yield "warmup.short_reaction", comes, ("comes in", "steps and retreats", "waits for second bounce")
    asks = "none" if net < -1.4 else "few" if net < -0.5 else "normal" if net < 0.9 else "many"
    yield "warmup.net_time", asks, ("none", "few", "normal", "many")
    kick = float(habits.serves[1, 0, 3].sum())
    second = (
        "none shown"
        if rng.random() < 0.3
        else "kick"
        if rng.random() < kick
        else "slow"
        if shown("second") < -0.3
        else "slice"
    )
    yield "warmup.second_serve_shown", second, ("slow", "kick", "slice", "none shown")
    stand, block = shown("stand"), shown("block")
    stance = "deep" if stand > 0.8 else "inside" if stand < -0.8 else "block" if block > 0.6 else "middle"
    yield "warmup.return_stance", stance, ("deep", "middle", "inside", "block", "full swing")
    spun = shown("topspin")
    ball = "heavy topspin" if spun > 1.1 else "flat" if spun < -0.8 else "topspin"
    yield "warmup.forehand_ball", ball, ("flat", "topspin", "heavy topspin", "slice")
    words = ("flat", "topspin", "heavy topspin", "slice")
    yield "warmup.backhand_ball", "slice" if z.backhand == "slice" else "topspin" if spun > -0.6 else "flat", words


def games_looks(z: Nature, habits: Habits, observer: Observer, rng: Random) -> list[dict[str, Any]]:
    """What is taken in by eye over a stretch of games, in plain form: values, amounts and ratings."""
    kick = float(habits.serves[1, 0, 3].sum())
    bounce = "shoulder" if kick > 0.55 and z["kick"] > 0.3 else "hip" if z["second"] < -0.4 else "chest"
    depth = "short" if z["second"] + 0.5 * rng.gauss(0, 1) < -0.7 else "deep" if z["second"] > 0.9 else "middle"
    step = z["legs"] + 0.5 * rng.gauss(0, 1)
    words = [
        ("serve.second_serve_bounce", bounce, ("hip", "chest", "shoulder")),
        ("serve.second_serve_depth", depth, ("short", "middle", "deep")),
        (
            "movement.first_step",
            "quick" if step > 0.8 else "slow" if step < -0.8 else "average",
            ("quick", "average", "slow"),
        ),
        ("return.shading", "none" if z.shade is None else SIDES[z.shade], ("forehand", "backhand", "none")),
    ]
    records: list[dict[str, Any]] = [
        {"what": what, "value": word} for what, value, o in words if (word := observer.names(value, o)) is not None
    ]
    amounts = (
        ("return.position_first_serve", 1.3 + 0.8 * z["stand"]),
        ("return.position_second_serve", 0.5 + 0.7 * z["stand"] - 0.4 * z["attack"]),
    )
    records += [
        {"what": what, "amount": round(min(9.0, max(-4.0, metres + rng.gauss(0, 0.4))), 1)}
        for what, metres in amounts
        if rng.random() > observer.missed
    ]
    for what, quality in (("serve.first_serve_pace", "power"), ("serve.second_serve_pace", "second")):
        if (rating := observer.rates(z[quality])) is not None:
            records.append({"what": what, "rating": rating})
    return records


def _logistic(x: float) -> float:
    return float(1.0 / (1.0 + 2.718281828459045 ** (-x)))
