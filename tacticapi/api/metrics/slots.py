"""Counting over all workers: each counts into the files of its slot, and whoever reads adds the slots up.

A slot goes on where the worker before it ended, so nothing is lost when workers are replaced, and there are never more
files than workers at one time.
"""

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from prometheus_client import values

from tacticapi.api.metrics.counts import FOLDER_VARIABLE


@contextmanager
def counting_folder() -> Iterator[None]:
    """A folder for the counts of this run, told to the workers by the environment, gone afterwards."""
    folder, owner = tempfile.mkdtemp(prefix="tacticapi-counts-"), os.getpid()
    os.environ[FOLDER_VARIABLE] = folder
    try:
        yield
    finally:
        if os.getpid() == owner:  # a worker, forked from here, comes by when it ends
            os.environ.pop(FOLDER_VARIABLE, None)
            shutil.rmtree(folder, ignore_errors=True)


def free_slot(taken: Iterable[int]) -> int:
    """The lowest slot that no living worker has."""
    used = set(taken)
    return next(slot for slot in range(len(used) + 1) if slot not in used)


def count_in(slot: int | str) -> None:
    """Let this process count into the files of the slot. Call it before the application is made."""
    values.ValueClass = values.MultiProcessValue(lambda: slot)  # type: ignore[no-untyped-call]
