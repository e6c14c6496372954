from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from flask import Flask
from jsonschema_rs import Draft202012Validator

from tacticapi.api.contract import EXTENSION

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
