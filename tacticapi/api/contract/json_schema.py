"""JSON Schemas, each cut out of the contract so that it stands alone."""

from collections.abc import Iterator
from typing import Any, cast

from flask import Flask

from tacticapi.api.contract.contract import EXTENSION, Contract
from tacticapi.api.contract.observations import observation_rules
from tacticapi.domain.rulebook import Rulebook

DRAFT = "https://json-schema.org/draft/2020-12/schema"
SITUATION, SITUATION_ADDRESS = "Situation", "/v1/schemas/situation"
_IN_CONTRACT = "#/components/schemas/"
_HERE = "#/$defs/"
_OBSERVATIONS = ("Observation", "NewObservation")


def situation_json_schema(app: Flask, rulebook: Rulebook) -> dict[str, Any]:
    """The schema of the body of a request for advice."""
    return json_schema(app, rulebook, SITUATION, SITUATION_ADDRESS)


def json_schema(app: Flask, rulebook: Rulebook, component: str, address: str) -> dict[str, Any]:
    """The schema of one component, published at this address, with every schema that it refers to in `$defs`.

    It knows more than the contract, which holds for every deployment: the tactics here, and how each kind is posted.
    """
    contract = cast(Contract, app.extensions[EXTENSION])
    components = contract.described()["components"]["schemas"]
    found = {name: _local(components[name]) for name in sorted(_needed(components, component))}
    for name in found.keys() & {*_OBSERVATIONS}:
        found[name]["allOf"] = observation_rules(rulebook)
    if "Tries" in found:
        found["Tries"]["properties"]["tactic"] = {"enum": list(rulebook.tactics)}
    root = found.pop(component)
    made = {"$schema": DRAFT, "$id": address, "title": component, **root}
    return {**made, "$defs": found} if found else made


def _needed(components: dict[str, Any], start: str) -> set[str]:
    found: set[str] = set()
    waiting = [start]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += _references(components[name])
    return found


def _references(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "$ref":
                yield value.removeprefix(_IN_CONTRACT)
            else:
                yield from _references(value)
    elif isinstance(node, list):
        for item in node:
            yield from _references(item)


def _local(node: Any) -> Any:
    if isinstance(node, dict):
        return {
            key: value.replace(_IN_CONTRACT, _HERE) if key == "$ref" else _local(value) for key, value in node.items()
        }
    return [_local(item) for item in node] if isinstance(node, list) else node
