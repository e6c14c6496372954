"""The rule files as written, and one adviser for all tests of the rules."""

import pytest

from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.entries import Entries, read_entries
from tacticapi.rulebook.files import our_rules

from .asking import Asker


@pytest.fixture(scope="session")
def entries() -> Entries:
    """The rule files as written, for what the rulebook has already expanded."""
    return read_entries([our_rules()])


@pytest.fixture(scope="session")
def asker(rulebook: Rulebook) -> Asker:
    return Asker(rulebook)
