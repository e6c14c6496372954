"""A mistake in a rule file is told with its file, line, field and what was expected."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.knowledge import Mistake, RuleFileError, load

from .conftest import FILES, mistakes_of, write

Spoil = Callable[..., list[Mistake]]
SERVE, WINGS, RALLY = "tactics/serve.yaml", "traits/wings.yaml", "observations/rally.yaml"
