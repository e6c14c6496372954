"""The looks that are asked for are better than going through the warm-up in the usual order."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tacticapi.advice import Adviser

SCRIPT = Path(__file__).parents[2] / "benchmarks" / "warm_up.py"


@pytest.fixture(scope="module")
def warm_up() -> ModuleType:
    spec = importlib.util.spec_from_file_location("warm_up", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["warm_up"] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


def test_following_the_looks_finds_the_weaker_wing_with_fewer_balls(warm_up: ModuleType, adviser: Adviser) -> None:
    result = warm_up.experiment(adviser, 500, seed=7)
    assert 0 < result.looks < result.fixed
    assert result.saving == pytest.approx(result.fixed - result.looks)
    assert result.saving > result.half_width > 0  # the whole 95 % interval lies above nothing saved
