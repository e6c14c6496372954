from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema_rs import Draft202012Validator

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.contract import EXTENSION


@pytest.fixture(scope="session")
def app(adviser: Adviser) -> Flask:
    return create_app({"ADVISER": adviser, "TESTING": True})


Validate = Callable[[str, Any], None]


@pytest.fixture(scope="session")
def valid(app: Flask) -> Validate:
    """Hold a value against the component of the contract of this name, formats of ids and times included."""
    components = app.extensions[EXTENSION].described()["components"]

    @cache
    def validator(component: str) -> Draft202012Validator:
        schema = {"$ref": f"#/components/schemas/{component}", "components": components}
        return Draft202012Validator(schema, validate_formats=True)

    return lambda component, value: validator(component).validate(value)


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as client:
        yield client
