"""A few workers killed in the middle of bulk posting; `python -m tests.store.kills` kills a hundred."""

from pathlib import Path

import pytest

from ..databases import ENGINES
from .kills import killed

KILLS = 4


@pytest.mark.parametrize("engine", ENGINES)
def test_what_was_acknowledged_is_there_once_and_whole_whatever_worker_dies(engine: str, tmp_path: Path) -> None:
    tally = killed(engine, tmp_path, KILLS)
    assert (tally.lost, tally.doubled, tally.half_written) == (0, 0, 0), tally
    assert tally.acknowledged == tally.posted > 0, tally
    assert tally.kills == KILLS
    assert tally.repeats > 0
