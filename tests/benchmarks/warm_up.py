"""Whether the looks that the service asks for find the weaker wing with fewer balls than the usual warm-up order.

Run: python tests/benchmarks/warm_up.py [opponents]. Prints the mean number of balls that each way takes, and the mean
saving with its 95 % interval; ends with status 1 unless the interval lies above nought.

An opponent has a hidden quality on either wing against plain, high and low balls. What is seen of it is drawn from
curves of our own, not from the likelihoods of the rulebook. A wing counts as found once what is believed of it leads
by a margin, in log odds, and it is the weaker one.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from math import log, sqrt
from typing import Any

import numpy as np

from tacticapi.advice import Adviser
from tacticapi.domain.situation import Moment, Observation, Situation, Way, Wing
from tacticapi.rulebook.load import load

MARGIN = 1.0
MAX_BALLS = 45  # about what a warm-up has room for, and what the usual order takes in all
OTHER_BALLS = 4  # a look that has nothing to do with the wings
OWN = {
    "handedness": "right",
    **dict.fromkeys(("serve_placement", "second_serve_kick", "slice_backhand", "topspin_height"), 3),
    **dict.fromkeys(("change_direction", "volley", "approach", "drop_shot", "lob", "short_angle"), 3),
    **dict.fromkeys(("return_attack", "return_block"), 3),
}
ABOUT = {
    Wing.BACKHAND: [(trait, Wing.BACKHAND) for trait in ("hides_backhand", "weak_high_backhand", "weak_low_ball")],
    Wing.FOREHAND: [
        *(("weak_forehand", Wing.FOREHAND), ("weak_low_ball", Wing.FOREHAND)),
        ("backhand_is_better", Wing.BACKHAND),
    ],
}
FIXED = tuple(  # the usual order: both wings steadily, the middle, high, low, then the rest
    f"warmup.{item}"
    for item in (
        *("forehand_made", "backhand_made", "middle_ball_on_forehand", "high_forehand", "high_backhand"),
        *("low_forehand", "low_backhand", "ran_round_backhand", "forehand_contact", "backhand_contact"),
    )
)


@dataclass(frozen=True)
class Opponent:
    """Qualities from 0 to 1 by wing and ball."""

    quality: dict[tuple[Wing, str], float]

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> "Opponent":
        """Four in six are weaker on the backhand; against single kinds of balls either wing may be the weaker one."""
        weaker = Wing.BACKHAND if rng.random() < 2 / 3 else Wing.FOREHAND
        level, gap = rng.normal(0.6, 0.08), rng.uniform(0.15, 0.40)
        base = {weaker: level - gap / 2, weaker.other: level + gap / 2}
        balls = ("plain", "high", "low")
        return cls({(w, ball): float(np.clip(base[w] + rng.normal(0, 0.06), 0, 1)) for w in Wing for ball in balls})

    def mean(self, wing: Wing) -> float:
        return float(np.mean([q for (w, _), q in self.quality.items() if w is wing]))

    @property
    def weaker(self) -> Wing:
        """The wing of lower quality over all balls."""
        return min(Wing, key=self.mean)

    def shown(self, what: str, rng: np.random.Generator) -> tuple[int, dict[str, Any]]:
        """What one look at a kind shows, and how many balls it took."""
        item = what.partition(".")[2]
        lead = self.mean(Wing.FOREHAND) - self.mean(Wing.BACKHAND)
        if item == "middle_ball_on_forehand":
            return 5, _count(rng, 5, 0.65 + 0.5 * lead)
        if item == "ran_round_backhand":
            return 5, _count(rng, 5, 0.32 + 0.5 * lead)
        ball, _, wing = item.partition("_")
        if ball in ("high", "low") and wing in list(Wing):
            rating = 4 * self.quality[Wing(wing), ball] + rng.normal(0, 0.7)
            return 3, {"way": Way.RATING, "rating": float(np.clip(round(rating), 0, 4))}
        plain = self.quality.get((Wing(ball), "plain")) if ball in list(Wing) else None
        if wing == "made" and plain is not None:
            return 7, _count(rng, 7, 0.55 + 0.3 * plain)
        if wing == "contact" and plain is not None:
            clean = rng.random() < 0.3 + 0.6 * plain
            return 3, {"way": Way.VALUE, "value": "clean" if clean else str(rng.choice(["late", "cramped"]))}
        return OTHER_BALLS, {}


def _count(rng: np.random.Generator, of: int, share: float) -> dict[str, Any]:
    return {"way": Way.COUNT, "of": of, "count": int(rng.binomial(of, min(0.97, max(0.03, share))))}


def _unrelated(adviser: Adviser, what: str, rng: np.random.Generator) -> dict[str, Any]:
    """An outcome that says nothing of the wings, for a kind with its own ways."""
    kind = adviser.rulebook.kinds[what]
    if Way.COUNT in kind.ways:
        return _count(rng, 4, 0.5)
    if Way.VALUE in kind.ways:
        return {"way": Way.VALUE, "value": str(rng.choice(kind.options))}
    if Way.RATING in kind.ways:
        return {"way": Way.RATING, "rating": float(rng.integers(1, 4))}
    if Way.COUNTS in kind.ways:
        return {"way": Way.COUNTS, "counts": dict.fromkeys(kind.options, 1)}
    return {"way": Way.AMOUNT, "amount": 2.0} if Way.AMOUNT in kind.ways else {"way": Way.SEEN, "seen": False}


def asked(observations: list[Observation], profile: dict[str, Any]) -> Situation:
    opponent = {"handedness": "right", **profile}
    return Situation(
        Moment.AFTER_WARM_UP, own=OWN, opponent=opponent, observations=tuple(observations), minutes_left=5.0
    )


def by_fixed_order(situation: Situation, adviser: Adviser) -> list[str]:
    """The kinds in the usual order, those already seen left out."""
    return [what for what in FIXED if what not in {one.what for one in situation.observations}]


def by_looks(situation: Situation, adviser: Adviser) -> list[str]:
    """The kinds that the service asks for next, as many as it names at once."""
    return [look.what for look in adviser.recommend(situation).look_for]


def balls_to_find(
    opponent: Opponent, order: Callable[[Situation, Adviser], list[str]], adviser: Adviser, seed: int
) -> int:
    """Balls until the weaker wing is believed the weaker one by the margin; MAX_BALLS where that takes longer."""
    rng = np.random.default_rng(seed)
    observations: list[Observation] = []
    profile: dict[str, Any] = {}
    balls = 0
    while balls < MAX_BALLS:
        batch = order(asked(observations, profile), adviser)
        if not batch:
            return MAX_BALLS
        for what in batch:
            cost, said = opponent.shown(what, rng)
            balls += cost
            if what.startswith("opponent."):
                profile[what.partition(".")[2]] = str(rng.choice(adviser.rulebook.kinds[what].options))
            else:
                said = said or _unrelated(adviser, what, rng)
                observations.append(Observation(index=len(observations), what=what, **said))
            if found(adviser, asked(observations, profile)) is opponent.weaker:
                return min(balls, MAX_BALLS)
    return MAX_BALLS


def found(adviser: Adviser, situation: Situation) -> Wing | None:
    """The wing that is believed the weaker one by the margin, None while neither is."""
    moved = {
        (b.trait, b.wing): log(b.probability / (1 - b.probability)) - log(b.prior / (1 - b.prior))
        for b in adviser.evidence.believe(situation).all
    }
    score = {wing: sum(moved[key] for key in keys) for wing, keys in ABOUT.items()}
    lead = score[Wing.BACKHAND] - score[Wing.FOREHAND]
    if abs(lead) < MARGIN:
        return None
    return Wing.BACKHAND if lead > 0 else Wing.FOREHAND


@dataclass(frozen=True)
class Result:
    """Mean balls by the fixed order and by the looks, and the mean saving with its 95 % interval."""

    fixed: float
    looks: float
    saving: float
    half_width: float


def experiment(adviser: Adviser, opponents: int, seed: int = 1) -> Result:
    """Warm up with each of so many random opponents both ways."""
    rng = np.random.default_rng(seed)
    fixed, looks = [], []
    for number in range(opponents):
        opponent = Opponent.drawn(rng)
        fixed.append(balls_to_find(opponent, by_fixed_order, adviser, number))
        looks.append(balls_to_find(opponent, by_looks, adviser, number))
    saved = np.array(fixed) - np.array(looks)
    half_width = 1.96 * float(saved.std(ddof=1)) / sqrt(opponents)
    return Result(float(np.mean(fixed)), float(np.mean(looks)), float(saved.mean()), half_width)


def main() -> int:
    opponents = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    result = experiment(Adviser(load()), opponents)
    print(f"{'way':<22}balls until the weaker wing is found ({opponents} opponents)")
    print(f"{'the usual order':<22}{result.fixed:.1f}")
    print(f"{'the looks asked for':<22}{result.looks:.1f}")
    low, high = result.saving - result.half_width, result.saving + result.half_width
    print(f"{'saved':<22}{result.saving:.1f} (95 % interval {low:.1f} to {high:.1f})")
    return int(low <= 0)


if __name__ == "__main__":
    sys.exit(main())
