"""One danger sign, posted in any way beside anything else: no text of any tactic comes out anywhere."""

import json
import random
from collections.abc import Iterator
from functools import partial
from typing import Any
from uuid import uuid4

import pytest
from click.testing import CliRunner
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.cli import main
from tacticapi.client import Client, Problem
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment
from tacticapi.rulebook.load import load

from ..benchmarks.bodies import body
from ..databases import add, listening

SOME = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
RULES = load()
SIGN = "physical.warning_sign"
WORDS = ("chest pain", "she fainted", "hit on the head by the ball", "cannot breathe", "had a seizure", "very dizzy")
PLAYED = [m for m in Moment if m is not Moment.AFTER_MATCH]


@st.composite
def situations(draw: st.DrawFn) -> dict[str, Any]:
    """A situation in which tactics would speak."""
    dice, size = random.Random(draw(st.integers(0, 2**32))), draw(st.integers(3, 12))
    return {**body(dice, RULES, size), "moment": draw(st.sampled_from(PLAYED)).value}


@st.composite
def ways_to_say_it(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """Where a danger sign is posted, and what."""
    words = draw(st.sampled_from(WORDS))
    site = draw(st.sampled_from(["chest", "head"]))
    note = {"what": "rally.forehand_errors", "count": 1, "of": 4, "note": f"good rally, then {words}"}
    said = [
        ("own", {"pain_site": site}),
        ("own", {"pain_site": site, "pain_now": 0}),
        ("own", {"pain_now": draw(st.integers(2, 4)), "pain_site": "knee"}),
        ("own", {"pain_now": 1}),
        ("own", {"pain_now": 1, "pain_or_limit": words}),
        ("own", {"pain_or_limit": words}),
        ("opponent", {"previous_meeting": f"last year; today {words}"}),
        ("observations", {"what": SIGN, "seen": True}),
        ("observations", {"what": SIGN, "value": draw(st.sampled_from(RULES.kinds[SIGN].options))}),
        ("observations", note),
        ("context", {"thunder": True}),
        ("context", {"heat": "extreme"}),
        ("context", {"heat": {"wbgt": 33.5}}),
    ]
    return draw(st.sampled_from(said))


def with_sign(situation: dict[str, Any], way: tuple[str, dict[str, Any]]) -> dict[str, Any]:
    where, said = way
    if where == "observations":
        return {**situation, "observations": [*situation["observations"], said]}
    return {**situation, where: {**situation[where], **said}}


def texts_of_tactics(rulebook: Rulebook) -> tuple[str, ...]:
    """Every sentence of every tactic that is no safety, and its id as JSON writes it."""
    tactics = [t for t in rulebook.tactics.values() if t.authority != 1]
    said = {say for t in tactics for say in (t.say, t.title, *(a.say for a in t.when)) if say}
    return (*said, *(f'"{t.id}"' for t in tactics))


TEXTS = texts_of_tactics(RULES)


def silent(body: str) -> None:
    assert [text for text in TEXTS if text in body] == []


@SOME
@given(situation=situations(), way=ways_to_say_it())
def test_a_posted_situation_gets_safety_alone(app, situation, way):
    client = app.test_client()
    posted = with_sign(situation, way)
    for address in ("/v1/suggestions", "/v1/explanations", "/v1/explanations?tactic=serve-to-hidden-wing"):
        answer = client.post(address, json=posted)
        assert answer.status_code == 200, answer.text
        advice = answer.json.get("advice", answer.json)
        assert advice["safety"]
        assert not advice.get("plan")
        assert not any(advice.get(name) for name in ("beliefs", "look_for", "held_back", "changed", "unused"))
        silent(answer.text)


def test_without_a_sign_the_same_situations_speak(app):
    spoken = []

    @SOME
    @given(situation=situations())
    def ask(situation: Any) -> None:
        answer = app.test_client().post("/v1/suggestions", json=situation)
        spoken.append(bool(answer.json["suggestions"]))

    ask()
    assert sum(spoken) > 0.5 * len(spoken)


@settings(SOME, max_examples=5)  # each run reads all rules anew
@given(situation=situations(), way=ways_to_say_it())
def test_the_command_line_says_safety_alone(tmp_path, situation, way):
    file = tmp_path / "situation.json"
    file.write_text(json.dumps(with_sign(situation, way)), encoding="utf-8")
    for options in ((), ("--json",)):
        told = CliRunner().invoke(main, ["suggest", str(file), *options])
        assert told.exit_code == 0, told.output
        assert "Safety first" in told.output or '"safety"' in told.output
        silent(" ".join(told.output.split()))
        silent(told.output)


@pytest.fixture
def served(kept: Flask) -> Iterator[Client]:
    """The Python client against the same application over HTTP."""
    with listening(kept) as address, Client(address) as client:
        yield client


@settings(SOME, max_examples=15)
@given(situation=situations(), way=ways_to_say_it())
def test_the_client_says_safety_alone(served, situation, way):
    advice = served.suggest(with_sign(situation, way))
    assert advice["safety"]
    silent(repr(advice))
    silent(" ".join(str(advice).split()))


@settings(SOME, max_examples=15)
@given(situation=situations(), way=ways_to_say_it())
def test_a_running_match_says_safety_alone_everywhere(kept, situation, way):
    client = kept.test_client()
    made = partial(add, client)
    own, opponent = (made("/v1/players", {"side": side, "label": f"{side} {uuid4()}"}) for side in ("own", "opponent"))
    known = {name: situation[name] for name in ("context", "own", "opponent")}
    address = f"/v1/matches/{made('/v1/matches', {'own_id': own, 'opponent_id': opponent, **known})}"
    for posted in situation["observations"]:
        made(f"{address}/observations", posted)
    before = client.get(f"{address}/suggestions?moment=change-of-ends")
    assert before.status_code == 200, before.text
    where, said = way
    if where == "observations":
        made(f"{address}/observations", said)
    else:
        facts = {**client.get(address).json[where], **said}
        changed = client.patch(address, json={where: facts}, headers={"If-Match": "*"})
        assert changed.status_code == 200, changed.text
    below = ("/suggestions?moment=change-of-ends", "/card?moment=change-of-ends", "/debrief", "/advice")
    pictures = (f"/pictures/{name}" for name in ("win-curve", "beliefs", "serve-spots"))
    elsewhere = (f"/v1/advice/{before.json['advice_id']}", f"/v1/players/{opponent}/dossier")
    for each in (*(address + each for each in (*below, *pictures)), *elsewhere):
        answer = client.get(each)
        assert answer.status_code < 500, answer.text
        silent(answer.text)


def test_the_client_raises_a_problem_for_a_picture_of_a_silenced_match(served):
    match = served.match(own="Birch", opponent="Sleet")
    match.saw(SIGN, value="collapse")
    with pytest.raises(Problem):
        match.picture("beliefs")
