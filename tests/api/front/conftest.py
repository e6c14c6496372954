from collections.abc import Callable, Iterator

import pytest
from flask import Flask

from tacticapi.advice import Adviser

from ...databases import apps_on, new_database

NewApp = Callable[..., Flask]


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> str:
    return new_database("sqlite", tmp_path_factory.mktemp("front"))


@pytest.fixture
def new_app(adviser: Adviser, url: str) -> Iterator[NewApp]:
    """Makes applications, as they run in earnest, with these settings."""
    with apps_on(url, adviser, LOCAL=True) as make:
        yield make
