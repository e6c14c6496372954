"""docs/problems.md shows of each type of problem what a client sees, and that is what it sees."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask

from tacticapi import api
from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.http.problems import PROBLEMS
from tacticapi.club import clubs
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook import evaluator
from tacticapi.rulebook.matcher import Matcher

from ...databases import add, new_database, services_of
from .conftest import NewApp
from .documented import example, sections
from .provoked import PROVOKED, Service

OF_THE_SERVER = {  # tests/served asks for these
    "broken-request", "address-too-long", "expectation-failed", "headers-too-large", "not-implemented", "worker-lost",
}  # fmt: skip


@pytest.fixture
def url(tmp_path: Path) -> str:
    """A database for each example, since players of one side have different labels."""
    return new_database("sqlite", tmp_path)


@pytest.fixture
def service(adviser: Adviser, rulebook: Rulebook, new_app: NewApp, monkeypatch: pytest.MonkeyPatch) -> Service:
    app = new_app()

    @app.get("/fails")
    def fails() -> str:
        raise LookupError

    client = app.test_client()
    own, opponent = (add(client, "/v1/players", {"side": side, "label": f"{side} 1"}) for side in ("own", "opponent"))
    body = {"own_id": own, "opponent_id": opponent, "context": {"coaching": "not-permitted"}}
    match = add(client, "/v1/matches", body)
    add(client, f"/v1/matches/{match}/points", {"winner": "own"})
    services = services_of(app)

    def observer() -> str:
        return clubs.create_token(services, clubs.create(services, "Two Kilns").club_id, "phone", ["observe"]).text

    monkeypatch.setattr(evaluator, "MAX_CHOICES", 0)
    amiss: dict[str, Callable[[], Flask]] = {
        "limited": lambda: new_app(RATE_PER_ADDRESS="1/minute"),
        "without_database": lambda: create_app({"ADVISER": adviser}),
        "database_away": lambda: new_app(address="postgresql://nobody@127.0.0.1:1/none"),
        "overrun": lambda: new_app(ADVISER=Adviser(rulebook, Matcher(rulebook, "evaluator"))),
    }
    return Service(app, match, own, observer, lambda name: amiss[name]())


@pytest.mark.parametrize("name", sorted(PROVOKED))
def test_the_example_of_a_problem_is_what_a_client_sees(service, name):
    request, ask = PROVOKED[name]
    answer = ask(service)
    shown = example(request, answer.status.title().replace("Http", "HTTP"), answer.headers, answer.data)
    assert shown.body["type"] == f"/problems/{name}"
    assert shown.text() in sections()[name], shown.text()


def test_every_problem_is_provoked():
    assert PROVOKED.keys() | OF_THE_SERVER == {problem.name for problem in PROBLEMS}
    assert not PROVOKED.keys() & OF_THE_SERVER


def test_every_refusal_names_a_known_problem():
    sources = "".join(path.read_text(encoding="utf-8") for path in Path(api.__file__).parent.rglob("*.py"))
    named = set(re.findall(r'(?:refuse|ProblemError)\(\s*"([a-z-]+)"', sources))
    assert "not-found" in named
    assert named <= {problem.name for problem in PROBLEMS}
