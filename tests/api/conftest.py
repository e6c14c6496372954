from collections.abc import Callable, Iterator
from typing import Any

import jsonschema
import pytest
from flask import Flask
from flask.testing import FlaskClient

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

    def validate(component: str, value: Any) -> None:
        schema = {"$ref": f"#/components/schemas/{component}", "components": components}
        jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(value)

    return validate


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as client:
        yield client
