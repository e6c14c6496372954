"""The usual ball in air of 1.21 kg/m3 on a medium court, and the numbers of the rule files."""

from collections.abc import Mapping
from typing import Any

import pytest

from tacticapi.court.flight import Ball, Surface
from tacticapi.court.shot import Place
from tacticapi.court.standing import Mover
from tacticapi.rulebook.load import court_numbers

BALL = Ball(0.0577, 0.0665, 0.507, 0.55)


@pytest.fixture(scope="session")
def numbers() -> Mapping[str, Any]:
    return court_numbers()


@pytest.fixture(scope="session")
def place() -> Place:
    return Place(BALL, 1.21, Surface(0.63, 0.81))


@pytest.fixture(scope="session")
def mover() -> Mover:
    return Mover(0.2, 5.0, 5.0, 1.0)
