"""Two clubs in one service: whatever one asks with the other's ids is not found, changes nothing and tells nothing."""

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from flask import Flask

from tacticapi.api.contract import EXTENSION, METHODS, Contract
from tacticapi.club import Services
from tacticapi.store import Record

from ...databases import TABLES
from .conftest import NOWHERE

KEPT_IDS = ("player_id", "match_id", "entry_id", "advice_id", "feedback_id", "club_id", "token_id")
NOW = "moment=change-of-ends"
SEEN = {"what": "warmup.low_forehand", "rating": 1}
TRIED = {"tactic": "swap-serve-spots", "tried": 4, "won": 2}
KEY = "a key of theirs"
BODIES: dict[str, Any] = {
    "changePlayer": {"label": "Taken"},
    "changeMatch": {"context": {"coaching": "permitted"}},
    "addObservations": SEEN,
    "addPoint": {"winner": "own"},
    "addTries": TRIED,
    "addFeedback": {"tactic": "swap-serve-spots", "kind": "used"},
}
QUERIES = {"suggestNow": NOW}
OF_NO_CLUB = {"tactic_id", "name", "kind", "external_id"}  # ids of the rulebook, and those that each club gives itself
HEADERS: tuple[dict[str, str], ...] = (
    {},
    {"If-Match": "*", "If-None-Match": "*"},
    {"If-Match": '"1"', "If-None-Match": '"1"'},
    {"If-Match": "*", "Idempotency-Key": KEY},
)


@dataclass(frozen=True)
class Operation:
    """An operation of the contract whose address holds ids."""

    name: str
    method: str
    address: str

    @property
    def ids(self) -> list[str]:
        return re.findall(r"{(\w+)}", self.address)


def operations(app: Flask) -> list[Operation]:
    """All of them, as the application describes itself. A new one is covered or fails: its ids, its scope, its body."""
    contract: Contract = app.extensions[EXTENSION]
    found = []
    for address, path in contract.described()["paths"].items():
        for method in path.keys() & METHODS:
            told, operation = path[method], Operation(path[method]["operationId"], method.upper(), address)
            if set(operation.ids) <= OF_NO_CLUB:
                continue
            assert set(operation.ids) <= set(KEPT_IDS), f"{operation}: whose id is that? say it in filled()"
            assert all(told.get("security") or [{}]), f"{operation} lets in whoever asks"
            assert ("requestBody" in told) == (operation.name in BODIES), f"{operation}: give it a good body in BODIES"
            found.append(operation)
    return sorted(found, key=lambda operation: operation.name)


def filled(caller: Any, key: str) -> dict[str, list[str]]:
    """A club with something of everything; its ids by the name that they have in an address."""
    own = caller.made("/v1/players", {"side": "own", "label": f"Own of {caller.club}"})["id"]
    opponent = caller.made("/v1/players", {"side": "opponent", "label": f"Met by {caller.club}"})["id"]
    match = caller.made("/v1/matches", {"own_id": own, "opponent_id": opponent, "first_server": "own"})["id"]
    address = f"/v1/matches/{match}"
    seen = {**SEEN, "note": f"seen by {caller.club}"}
    entries = [
        caller.made(f"{address}/observations", seen, headers={"Idempotency-Key": key})["id"],
        caller.made(f"{address}/points", {"winner": "own"})["id"],
        caller.made(f"{address}/tries", TRIED)["id"],
    ]
    live = caller.get(f"{address}/suggestions?{NOW}").json
    body = {"tactic": live["suggestions"][0]["tactic"], "kind": "not-used", "reason": f"told by {caller.club}"}
    feedback = caller.made(f"/v1/advice/{live['advice_id']}/feedback", body)["id"]
    tokens = [token["id"] for token in caller.get("/v1/tokens").json["items"]]
    ids = ([own, opponent], [match], entries, [live["advice_id"]], [feedback], [caller.club], tokens)
    return dict(zip(KEPT_IDS, ids, strict=True))


@dataclass(frozen=True)
class Two:
    us: Any
    them: Any
    ours: dict[str, list[str]]
    theirs: dict[str, list[str]]
    services: Services

    def everything_of_theirs(self) -> list[Record]:
        with self.services.reading(self.them.club) as work:
            return [row for table in TABLES for row in getattr(work, table).find()]

    def marks_of_theirs(self) -> set[str]:
        return {self.them.club, *itertools.chain(*self.theirs.values())}


@pytest.fixture
def two(caller: Any, stranger: Any, services: Services) -> Two:
    return Two(stranger, caller, filled(stranger, "a key of ours"), filled(caller, KEY), services)


def attempts(operation: Operation, two: Two) -> Iterator[tuple[str, str]]:
    """Every address of an operation in which at least one id is theirs, and the same with ids that nobody has."""
    choices = [
        [(id, True) for id in two.theirs[name]] + [(id, False) for id in two.ours[name]] for name in operation.ids
    ]
    for chosen in itertools.product(*choices):
        if any(theirs for _, theirs in chosen):
            address = unknown = operation.address
            for name, (id, theirs) in zip(operation.ids, chosen, strict=True):
                address = address.replace(f"{{{name}}}", id)
                unknown = unknown.replace(f"{{{name}}}", NOWHERE if theirs else id)
            yield address, unknown


def ask(caller: Any, operation: Operation, address: str, headers: dict[str, str]) -> Any:
    query = QUERIES.get(operation.name, "")
    return caller.call(operation.method, f"{address}?{query}", json=BODIES.get(operation.name), headers=headers)


def without_ids(text: str) -> str:
    return re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "ID", text)


def test_every_operation_with_an_id_finds_nothing_of_the_other_club(kept_app, two):
    before, tried = two.everything_of_theirs(), 0
    every = operations(kept_app)
    assert len(every) >= 25
    for operation in every:
        for (address, unknown), headers in itertools.product(attempts(operation, two), HEADERS):
            response = ask(two.us, operation, address, headers)
            assert response.status_code == 404, (operation, address, headers, response.text)
            assert "ETag" not in response.headers
            same = ask(two.us, operation, unknown, headers)
            assert (same.status_code, without_ids(same.text)) == (404, without_ids(response.text)), operation
            tried += 1
    assert two.everything_of_theirs() == before
    assert tried > 150


def test_every_body_that_names_an_id_finds_nothing_of_the_other_club(two):
    before = two.everything_of_theirs()
    own, opponent = two.ours["player_id"]
    their_own, their_opponent = two.theirs["player_id"]
    match = f"/v1/matches/{two.ours['match_id'][0]}"
    for address, body in [
        ("/v1/matches", {"own_id": their_own, "opponent_id": their_opponent}),
        ("/v1/matches", {"own_id": own, "opponent_id": their_opponent}),
        ("/v1/matches", {"own_id": their_own, "opponent_id": opponent}),
        *(
            (f"{match}/{noun}", {**more, link: id})
            for noun, good in (("observations", SEEN), ("points", {"winner": "own"}), ("tries", TRIED))
            for link, more in (("supersedes", good), ("withdraws", {}))
            for id in two.theirs["entry_id"]
        ),
    ]:
        response = two.us.post(address, body)
        assert response.status_code == 404, (address, body, response.text)
    assert two.everything_of_theirs() == before


def test_no_list_holds_anything_of_the_other_club(kept_app, two):
    contract: Contract = kept_app.extensions[EXTENSION]
    lists = [
        address
        for address, path in contract.described()["paths"].items()
        if path.get("get", {}).get("operationId", "").startswith("list") and "security" in path["get"]
    ]
    assert len(lists) >= 7
    theirs = two.marks_of_theirs()
    cursors = ["", *(f"&cursor={id}" for id in sorted(theirs))]
    for address, cursor in itertools.product(lists, cursors):
        filled_in = re.sub(r"{(\w+)}", lambda name: two.ours[name[1]][0], address)
        response = two.us.get(f"{filled_in}?page_size=100{cursor}")
        assert response.status_code in (200, 422)
        assert not [mark for mark in theirs if mark in response.text.replace(cursor.removeprefix("&cursor="), "")]
    for query in (f"own_id={two.theirs['player_id'][0]}", f"opponent_id={two.theirs['player_id'][1]}"):
        assert two.us.get(f"/v1/matches?{query}").json == {"items": []}
    assert two.us.get(f"/v1/players?label=Own of {two.them.club}").json == {"items": []}


def test_a_label_a_key_and_an_own_id_of_the_other_club_are_free(two):
    two.us.made("/v1/players", {"side": "own", "label": f"Own of {two.them.club}"}, headers={"Idempotency-Key": "k"})
    made = two.them.made("/v1/players", {"side": "own", "label": "Elm"}, headers={"Idempotency-Key": "k"})
    assert made["label"] == "Elm"
    address, elm = "/v1/by-external-id/players/member-17", {"side": "own", "label": "Oak"}
    us, them = (each.call("PUT", address, json=elm) for each in (two.us, two.them))
    assert (us.status_code, them.status_code) == (201, 201)
    for club, other in ((two.us, two.theirs), (two.them, two.ours)):
        match = dict(zip(("own_id", "opponent_id"), other["player_id"], strict=True))
        assert club.call("PUT", "/v1/by-external-id/matches/court-2", json=match).status_code == 404
