"""The service that generated clients call."""

from collections.abc import Iterator

import pytest

from tacticapi.advice import Adviser

from ..databases import app_on, listening, new_database


@pytest.fixture(scope="module")
def service(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the application; tests/served starts `tacticapi serve`."""
    url = new_database("sqlite", tmp_path_factory.mktemp("service"))
    with app_on(url, adviser, LOCAL=True) as app, listening(app) as address:
        yield address
