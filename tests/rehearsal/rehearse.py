"""Rehearse the advice against many hidden opponents, in parallel, and put the outcome together."""

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from typing import Final

import numpy as np

from tacticapi.advice import Adviser
from tacticapi.domain.rulebook import Rulebook
from tacticapi.rulebook.load import load
from tests.rehearsal.fit import FittedShare, FittedStrength, fitted_shares, fitted_strength
from tests.rehearsal.measures import (
    Honest,
    Reached,
    TacticRecord,
    TraitRecord,
    honest,
    reached,
    tactic_records,
    trait_records,
)
from tests.rehearsal.one_opponent import Manner, rehearse_one
from tests.rehearsal.outcome import Rehearsed, Stage
from tests.rehearsal.reader import Readable, readable
from tests.rehearsal.variants import VARIANTS

Progress = Callable[[int, int], None]
IN_ONE_GO: Final = 5  # opponents handed to a process at once
FIT_PART: Final = 10  # defaults are fitted on one in so many of the opponents
FIT_SEED: Final = 1_000_003  # added to the seed for those opponents


@dataclass(frozen=True, slots=True)
class Line:
    """One way of running the rehearsal: its name, the variant of the rulebook and the manner."""

    name: str
    variant: str = "published"
    manner: Manner = field(default_factory=Manner)


PUBLISHED: Final = Line("as published")
LINES: Final = (
    Line("observers err twice as often", manner=Manner(errs=2.0)),
    Line("observers never err", manner=Manner(errs=0.0)),
    Line("evidence at half strength", "evidence halved"),
    Line("evidence at double strength", "evidence doubled"),
    Line("all defaults halved", "all halved"),
    Line("all defaults doubled", "all doubled"),
    Line("tries not posted", manner=Manner(tells_tries=False)),
    Line("tactics the world cannot express passed over", manner=Manner(skips=True)),
    Line("everything shown is taken up", manner=Manner(takes_up=0.0)),
)


@dataclass(frozen=True, slots=True)
class LineResult:
    """What one line reaches by stage."""

    name: str
    opponents: int
    reached: tuple[Reached, ...]
    honest: tuple[Honest, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that a rehearsal found; `lines` starts with the rulebook as published."""

    seed: int
    digest: str
    lines: tuple[LineResult, ...]
    tactics: dict[Stage, list[TacticRecord]]
    traits: list[TraitRecord]
    readable: tuple[Readable, ...]
    strengths: tuple[FittedStrength, ...]
    shares: tuple[FittedShare, ...]


def rehearse(
    opponents: int, seed: int, processes: int = 2, lines: Sequence[Line] = (), progress: Progress | None = None
) -> Report:
    """Meet `opponents` hidden opponents with the published rulebook, and again in every other line.

    Defaults are fitted on a tenth as many opponents of a seed of their own. `progress` is told (done, all) at times.
    Raises ValueError for fewer than 1 opponent or process.
    """
    if opponents < 1 or processes < 1:
        raise ValueError("at least one opponent and one process")
    fit = max(1, opponents // FIT_PART)
    met_by = [(line, seed, opponents) for line in (PUBLISHED, *lines)]
    runs = [*met_by, (PUBLISHED, seed + FIT_SEED, fit)]
    total, done = sum(n for _, _, n in runs), 0
    found: list[list[Rehearsed]] = []
    for line, from_seed, count in runs:
        met: list[Rehearsed] = []
        for one in _meet(line, from_seed, count, processes):
            met.append(one)
            done += 1
            if progress:
                progress(done, total)
        found.append(met)
    return _report(seed, load(), [line.name for line, _, _ in runs[:-1]], found)


def _report(seed: int, rulebook: Rulebook, names: Sequence[str], found: Sequence[list[Rehearsed]]) -> Report:
    *runs, fit = found
    return Report(
        seed, rulebook.digest,
        tuple(_line(name, met, np.random.default_rng(seed)) for name, met in zip(names, runs, strict=True)),
        {stage: tactic_records(runs[0], stage) for stage in Stage},
        trait_records(runs[0], Stage.SET),
        tuple(one for s in Stage if (one := readable(runs[0], s))),
        tuple(fitted_strength(fit, stage) for stage in Stage),
        tuple(fitted_shares(fit, rulebook)),
    )  # fmt: skip


def _line(name: str, met: Sequence[Rehearsed], rng: np.random.Generator) -> LineResult:
    return LineResult(name, len(met), tuple(reached(met, s, rng) for s in Stage), tuple(honest(met, s) for s in Stage))


_adviser: Adviser | None = None


def _prepare(variant: str) -> None:
    global _adviser  # noqa: PLW0603 - one adviser a process: the matcher is compiled once
    _adviser = Adviser(VARIANTS[variant](load()))


def _one(seed: int, manner: Manner, index: int) -> Rehearsed:
    assert _adviser is not None
    return rehearse_one(_adviser, seed, index, manner)


def _meet(line: Line, seed: int, count: int, processes: int) -> Iterator[Rehearsed]:
    """Meet so many opponents, in order. New processes, so that each has one matcher, and one thread each."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, spawn, _prepare, (line.variant,)) as pool:
        yield from pool.map(partial(_one, seed, line.manner), range(count), chunksize=IN_ONE_GO)
