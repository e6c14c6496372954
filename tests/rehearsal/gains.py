"""What tactics are worth in this world: their exact gains, as a sum over what is true of opponents and own strokes.

Least squares over many pairings, as `rules/gains.yaml` has it. Only what the rulebook could know enters: the user's own
ratings, whether both play with one hand, and the traits that some tactic asks for.
"""

import multiprocessing
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import FactKind, Tactic, Touches
from tacticapi.rulebook.load import load
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.shots import SIDES
from tests.rehearsal.world.tactics import CHANGES, Chosen, options
from tests.rehearsal.world.truths import Truths, truths

PAYS: Final = 0.0039  # a point: what a tactic must be worth to the best-suited twentieth of pairings to get its lines
COUNTS: Final = 0.00012  # a point: what a part must move the gain by (its size times the spread of what it rests on)
PENALTY: Final = 5.0  # of the sum of squared parts, in pairings
MIDDLING: Final = 2.0
FEWEST: Final = 200
IN_ONE_GO: Final = 20  # pairings handed to a process at once
HEAD: Final = """\
# Gains from simulation: what a tactic is worth a touched point in the invented world of `tests/rehearsal`, where
# that world can play it. Written by `python -m tests.rehearsal --fit --seed {seed} --opponents {opponents}`: not
# measured on any court, no citation, not reviewed by a coach. They replace the gain and loss of the tactic itself.
# `base`: none of the beliefs holds and every own stroke is rated 2. `strokes`: for every step above 2. `beliefs`: times
# the probability of each. `open`: the standard deviation of what all this leaves open.
gains:
"""
Progress = Callable[[int, int], None]
AT_THE_LEAN: Final = "serve-away-from-lean"
NOT_FITTED: Final = frozenset({"read-serve-habits", "serve-to-hidden-wing"})
"""Pays by what was noted of serves rather than by what is true; pays about what it claims as it stands."""

Floats = NDArray[np.float64]


class Met(NamedTuple):
    """One pairing: own ratings, one-handedness, truths, the side guarded, gains on serve and return by option."""

    ratings: dict[str, int]
    same_handed: bool
    truths: Truths
    shade: int | None
    gains: list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class FittedGain:
    """One line of `rules/gains.yaml`; `explained` is the share of the variance of the gain that it explains."""

    id: str
    base: float
    open: float
    beliefs: dict[str, float]
    strokes: dict[str, float]
    same_handed: float
    explained: float

    def as_yaml(self) -> str:
        """The line as the rule file has it."""
        parts = [f"id: {self.id}", f"base: {self.base:.4f}", f"open: {self.open:.4f}"]
        parts += [f"same_handed: {self.same_handed:.4f}"] if self.same_handed else []
        for name, of in (("strokes", self.strokes), ("beliefs", self.beliefs)):
            told = ", ".join(f"{key}: {part:.4f}" for key, part in of.items())
            parts += [f"\n     {name}: {{{told}}}"] if told else []
        return f"  - {{{', '.join(parts)}}}".replace(", \n", ",\n")


def suggested_gains(opponents: int, seed: int, processes: int, progress: Progress | None = None) -> str:
    """The text of `rules/gains.yaml` as so many pairings of this seed suggest it.

    `progress` is told (done, all) at times. Raises ValueError for fewer than FEWEST opponents.
    """
    if opponents < FEWEST:
        raise ValueError(f"at least {FEWEST} opponents")
    met: list[Met] = []
    with ProcessPoolExecutor(processes, multiprocessing.get_context("spawn")) as pool:
        for one in pool.map(partial(meet, seed), range(opponents), chunksize=IN_ONE_GO):
            met.append(one)
            if progress:
                progress(len(met), opponents)
    lines = [line.as_yaml() for line in fitted_gains(met, load())]
    return HEAD.format(seed=seed, opponents=opponents) + "\n".join(lines) + "\n"


def meet(seed: int, index: int) -> Met:
    """What one pairing tells of every tactic."""
    pairing = draw_pairing(seed, index)
    plain, favourites = pairing.chances(()), pairing.favourites
    after = [pairing.chances((one,), favourites) for one in options()]
    gains = [(c.serve - plain.serve, c.return_ - plain.return_) for c in after]
    return Met(dict(pairing.user.ratings), pairing.same_handed, truths(pairing), pairing.nature.shade, gains)


def fitted_gains(met: Sequence[Met], rulebook: Rulebook) -> list[FittedGain]:
    """A line for every tactic, and wing aimed at, that pays some pairings; in the order of the rulebook."""
    names, features = _features(met, rulebook)
    lines = []
    for tactic in rulebook.tactics.values():
        if tactic.id in CHANGES and tactic.id not in NOT_FITTED:
            a_point = tactic.effect.share * (1.0 if tactic.effect.applies_to is Touches.BOTH else 0.5)
            aims = _aims(tactic, met)
            if max(np.quantile(gains, 0.95) for _, gains in aims) * a_point >= PAYS:
                own = np.array([asks_for(tactic, feature) for feature in names])
                lines += [_fit(aim, names, features, own, COUNTS / a_point) for aim in aims]
    return lines


def _features(met: Sequence[Met], rulebook: Rulebook) -> tuple[list[str], Floats]:
    """Names and columns: strokes as own.<name>, same_handed, traits as in the rule files."""
    asked = {
        condition.name
        for tactic in rulebook.tactics.values()
        for alternative in tactic.when
        for condition in alternative.conditions
        if condition.kind is FactKind.BELIEF
    }
    strokes, keys = list(met[0].ratings), [key for key in met[0].truths if key[0] in asked]
    names = [f"own.{name}" for name in strokes] + ["same_handed"]
    names += [f"{trait}/{wing}" if wing else trait for trait, wing in keys]
    rows = [
        [*(m.ratings[s] - MIDDLING for s in strokes), float(m.same_handed), *(float(m.truths[k]) for k in keys)]
        for m in met
    ]
    return names, np.array(rows)


def _aims(tactic: Tactic, met: Sequence[Met]) -> list[tuple[str, Floats]]:
    """Gains a touched point, by aim; a serve away from a lean has the aim that the opponent's lean gives it."""
    columns = {one: np.array([_touched(m.gains[n], tactic) for m in met]) for n, one in enumerate(options())}
    by_aim = [columns[Chosen(tactic.id, aim)] for aim in CHANGES[tactic.id].aims]
    if tactic.id == AT_THE_LEAN:
        either = np.mean(by_aim, axis=0)
        guarded = [either[n] if m.shade is None else by_aim[m.shade][n] for n, m in enumerate(met)]
        return [(tactic.id, np.array(guarded))]
    if len(by_aim) == 1:
        return [(tactic.id, by_aim[0])]
    return [(f"{tactic.id}/{SIDES[aim]}", gains) for aim, gains in zip(CHANGES[tactic.id].aims, by_aim, strict=True)]


def _touched(gains: tuple[float, float], tactic: Tactic) -> float:
    serve, back = gains
    on = {Touches.SERVE: serve, Touches.RETURN: back, Touches.BOTH: (serve + back) / 2}
    return on[tactic.effect.applies_to] / tactic.effect.share


def asks_for(tactic: Tactic, feature: str) -> bool:
    """Whether the tactic speaks on this belief."""
    conditions = (condition for alternative in tactic.when for condition in alternative.conditions)
    return any(c.kind is FactKind.BELIEF and c.name == feature.partition("/")[0] for c in conditions)


def _fit(
    aim: tuple[str, Floats], names: Sequence[str], features: Floats, own: NDArray[np.bool_], least: float
) -> FittedGain:
    """Least squares on everything, then again on `own` beliefs and the parts that move the gain by `least` or more."""
    name, gains = aim
    spread = features.std(axis=0)
    counting = (np.abs(_solve(features, gains)[1:]) * spread >= least) | own
    base, *parts = _solve(features[:, counting], gains)
    told = dict(zip((n for n, c in zip(names, counting, strict=True) if c), map(float, parts), strict=True))
    left = gains - base - features[:, counting] @ np.array(parts)
    return FittedGain(
        name, float(base), float(left.std()),
        {key: part for key, part in told.items() if not key.startswith("own.") and key != "same_handed"},
        {key.removeprefix("own."): part for key, part in told.items() if key.startswith("own.")},
        told.get("same_handed", 0.0), 1.0 - float(left.var() / gains.var()),
    )  # fmt: skip


def _solve(features: Floats, gains: Floats) -> Floats:
    columns = np.column_stack((np.ones(len(gains)), features))
    penalty = PENALTY * np.eye(columns.shape[1])
    penalty[0, 0] = 0.0
    return np.asarray(np.linalg.solve(columns.T @ columns + penalty, columns.T @ gains))
