"""What the contract says of headers and of conditional requests is what the kept nouns do."""

from typing import Any

import pytest
from flask import Flask

from tacticapi.api.contract import EXTENSION, METHODS, Contract

from ..conftest import Validate
from .conftest import Caller, Played


@pytest.fixture
def paths(kept_app: Flask) -> dict[str, Any]:
    contract: Contract = kept_app.extensions[EXTENSION]
    found: dict[str, Any] = contract.described()["paths"]
    return found


@pytest.fixture
def responses(kept_app: Flask) -> dict[str, Any]:
    contract: Contract = kept_app.extensions[EXTENSION]
    found: dict[str, Any] = contract.described()["components"]["responses"]
    return found


def kept_operations(paths: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (method, address, path[method])
        for address, path in paths.items()
        for method in path.keys() & METHODS
        if all(path[method].get("security") or [{}])
    ]


def parameters(operation: dict[str, Any]) -> set[str]:
    return {one.get("name") or one["$ref"].rpartition("/")[2] for one in operation.get("parameters", ())}


def test_every_kept_operation_says_what_refuses_it(paths: dict[str, Any], responses: dict[str, Any]) -> None:
    every = kept_operations(paths)
    assert len(every) > 25
    for method, address, operation in every:
        assert {"401", "403", "default"} <= operation["responses"].keys(), (method, address)
    assert "WWW-Authenticate" in responses["UNAUTHORIZED"]["headers"]
    assert "WWW-Authenticate" in responses["FORBIDDEN"]["headers"]
    assert "Retry-After" in responses["DEFAULT_ERROR"]["headers"]
    assert "ETag" in responses["NOT_MODIFIED"]["headers"]


def test_what_is_polled_or_edited_says_so(paths: dict[str, Any]) -> None:
    polled = edited = listed = 0
    for method, address, operation in kept_operations(paths):
        names, statuses = parameters(operation), operation["responses"].keys()
        headers = operation["responses"].get("200", {}).get("headers", {})
        assert ("IF_NONE_MATCH" in names) == ("304" in statuses), (method, address)
        assert ("IF_MATCH" in names) == ({"412", "428"} <= statuses), (method, address)
        if {"304", "428"} & statuses:
            assert "ETag" in headers, (method, address)
        assert ("cursor" in names) == ("Link" in headers), (method, address)
        polled, edited, listed = (
            polled + ("304" in statuses),
            edited + ("412" in statuses),
            listed + ("Link" in headers),
        )
    assert (polled >= 8, edited >= 4, listed >= 7) == (True, True, True)


def test_what_is_kept_has_the_shapes_of_the_contract(caller: Caller, under_way: Played, valid: Validate) -> None:
    at = under_way.address
    valid("Match", caller.get(at).json)
    valid("Player", caller.get(f"/v1/players/{under_way.own}").json)
    valid("Scored", caller.made(f"{at}/points", {"winner": "own"}))
    valid("Receipt", caller.made(f"{at}/observations", {"what": "warmup.high_backhand", "rating": 1}))
    line, jsonl = '{"what": "warmup.high_backhand", "rating": 9}', {"Content-Type": "application/x-ndjson"}
    valid("Lines", caller.call("POST", f"{at}/observations", data=line, headers=jsonl).json)
    advice = caller.get(f"{at}/suggestions", query_string={"moment": "change-of-ends"}).json
    assert advice
    valid("LiveAdvice", advice)
    valid("GivenAdvice", caller.get(f"/v1/advice/{advice['advice_id']}").json)
    caller.post(f"{at}/end")
    valid("Debrief", caller.get(f"{at}/debrief").json)
    valid("Dossier", caller.get(f"/v1/players/{under_way.opponent}/dossier").json)
    valid("Problem", caller.get("/v1/players/0197aaaa-0000-7000-8000-000000000000").json)
