"""Rehearse the advice against many hidden opponents of several worlds, in parallel."""

import multiprocessing
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache, partial
from typing import Final

import numpy as np

from tests.rehearsal.measures import Claimed, Honest, Reached, claimed, honest, reached
from tests.rehearsal.one_opponent import Manner, rehearse_one
from tests.rehearsal.outcome import Rehearsed, Stage
from tests.rehearsal.players import adviser
from tests.rehearsal.world.worlds import WORLDS, World, shifted

Progress = Callable[[int, int], None]
IN_ONE_GO: Final = 5  # opponents handed to a process at once


@dataclass(frozen=True, slots=True)
class Run:
    """What is rehearsed: so many opponents of a seed in each world, its usual shares shifted, in which manner."""

    opponents: int
    seed: int
    shift: float = 0.3
    worlds: tuple[str, ...] = tuple(WORLDS)
    manner: Manner = field(default_factory=Manner)


@dataclass(frozen=True, slots=True)
class WorldResult:
    """What was found in one world, by stage in order; `reached` is empty if only beliefs were rehearsed."""

    world: str
    honest: tuple[Honest, ...]
    reached: tuple[Reached, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that a run found, in the order of its worlds, and the digest of the rules.

    `claims` are the chances to pay that were claimed in all worlds; empty if only beliefs were rehearsed.
    """

    run: Run
    digest: str
    worlds: tuple[WorldResult, ...]
    claims: tuple[Claimed, ...] = ()


def rehearse(run: Run, processes: int = 2, progress: Progress | None = None) -> Report:
    """Meet the opponents of a run with the published rules. `progress` is told (done, all) at times.

    Raises ValueError for fewer than 1 opponent or process.
    """
    if run.opponents < 1 or processes < 1:
        raise ValueError("at least one opponent and one process")
    meetings = [(world, index) for world in run.worlds for index in range(run.opponents)]
    found: dict[str, list[Rehearsed]] = {world: [] for world in run.worlds}
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    with ProcessPoolExecutor(processes, multiprocessing.get_context("spawn")) as pool:
        for done, one in enumerate(pool.map(partial(_meet, run), meetings, chunksize=IN_ONE_GO), 1):
            found[one.world].append(one)
            if progress:
                progress(done, len(meetings))
    worlds = tuple(_result(run, *one) for one in found.items())
    return Report(run, _adviser().rulebook.digest, worlds, claimed(one for met in found.values() for one in met))


_adviser = cache(adviser)  # one a process: the matcher is compiled once


@cache
def _world(name: str, seed: int, shift: float) -> World:
    return shifted(WORLDS[name], seed, shift)


def _meet(run: Run, meeting: tuple[str, int]) -> Rehearsed:
    name, index = meeting
    return rehearse_one(_adviser(), run.seed, index, run.manner, _world(name, run.seed, run.shift))


def _result(run: Run, world: str, met: Sequence[Rehearsed]) -> WorldResult:
    rng = np.random.default_rng(run.seed)
    far = tuple(one for stage in Stage if (one := reached(met, stage, rng)))
    return WorldResult(world, tuple(honest(met, stage) for stage in Stage), far)
