"""House rules with a senseless value at any place: refused with file and line, or every answer still comes."""

import copy
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.cli.rules import findings
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.files import RuleFileError, our_rules
from tacticapi.rulebook.load import load
from tacticapi.rulebook.match_rules import lint, match_rules
from tacticapi.rulebook.matcher import Matcher
from tacticapi.seeds import demo_situation

from .bodies import places

HURRIED = {"what": "club.hurried_returns", "count": 9, "of": 10}
LONG = {"what": "club.long_toss", "amount": 3}
HOUSE: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("house.yaml").read_text(encoding="utf-8"))
EXTREMES = [
    ".nan", ".inf", "1e999", "1e300", "-1e300", "5e-324", "-0.0", "0", "-1", "1", "0.5", "5", "10000", "-10000",
    "1000000", "999999999999999999", "9" * 400, '"\\ud800"', '"\\0"', '"\\u202e"', '"\\e[2J"', '""', '" "',
    '"' + "x" * 1201 + '"', '"' + "x" * 65 + '"', '"work-weaker-wing"', '"safety-overrides-tactics"', '"../../etc"',
    "null", "true", "[]", "{}", "[[]]", "[null]", '["clay", "hard", "grass"]', "[1, 2, 3]", '{"all": []}',
    "[" + ", ".join(["0"] * 2000) + "]",
]  # fmt: skip
LEAVES = [(name, at) for name, content in HOUSE.items() for at in places(content)]


def spoilt(folder: Path, name: str, at: tuple[Any, ...], extreme: str) -> list[str] | Rulebook:
    """What the service makes of the house rules with one value replaced: a rulebook, or their mistakes."""
    for file, content in HOUSE.items():
        text = json.dumps(content, indent=1)
        if file == name:
            text = json.dumps(put(content, at, "@extreme@"), indent=1).replace('"@extreme@"', extreme)
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_text(text)
    folders = [our_rules(), folder]
    try:
        rulebook = load(folders)
    except RuleFileError as error:
        return [str(mistake) for mistake in error.mistakes]
    moving = name.startswith(("traits", "observations"))  # others move no belief, and working that out takes long
    found = findings(rulebook, folders) if moving or [*lint(match_rules(rulebook))] else []
    return found or rulebook


def put(content: Any, at: tuple[Any, ...], value: Any) -> Any:
    made = copy.deepcopy(content)
    holder = made
    for step in at[:-1]:
        holder = holder[step]
    holder[at[-1]] = value
    return made


def answers(rulebook: Rulebook) -> None:
    """Ask for whatever the house rules could break."""
    client = create_app({"ADVISER": Adviser(rulebook, Matcher(rulebook, "evaluator"))}).test_client()
    tries = [{"tactic": name, "tried": 9, "won": 4} for name in ("club-serve", "club-return", "work-weaker-wing")]
    seen = [one for one in (HURRIED, LONG) if one["what"] in rulebook.kinds]
    good = demo_situation("change-of-ends")
    body: dict[str, Any] = {
        **good,
        "observations": [*good["observations"], *seen],
        "own": {**good.get("own", {}), "serve_placement": 3, "volley": 3},
        "context": {**good["context"], "elapsed": 60},
        "tries": [one for one in tries if one["tactic"] in rulebook.tactics],
        "limit": 10,
    }
    hot = {**body, "context": {**body["context"], "altitude": 5000}}
    for posted in (body, hot):
        asked(client, "POST", "/v1/suggestions", posted)
        asked(client, "POST", "/v1/explanations", posted)
    for name in ("club-serve", "club-heat"):
        if name in rulebook.tactics:
            asked(client, "GET", f"/v1/tactics/{name}")
            asked(client, "GET", f"/v1/tactics/{name}/picture", statuses=(200, 404))
    for address in ("/v1/rulebook", "/v1/tactics", "/v1/traits", "/v1/vocabulary"):
        asked(client, "GET", address)


def asked(
    client: FlaskClient, method: str, address: str, body: Mapping[str, Any] | None = None, statuses: Any = (200, 422)
) -> None:
    response = client.open(address, method=method, json=body)
    assert response.status_code in statuses, (address, response.text[:400])
    if response.is_json:
        json.dumps(json.loads(response.data, parse_constant=pytest.fail), ensure_ascii=False).encode()


def test_these_house_rules_are_sound_and_speak(tmp_path):
    told = spoilt(tmp_path, "house.yaml", ("mute",), "[]")
    assert isinstance(told, Rulebook), told
    assert {"club-serve", "club-return", "club-heat"} <= told.tactics.keys()
    answers(told)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(leaf=st.sampled_from(LEAVES), extreme=st.sampled_from(EXTREMES))
def test_a_senseless_value_is_refused_with_file_and_line_or_does_no_harm(tmp_path, leaf, extreme):
    told = spoilt(tmp_path, *leaf, extreme)
    if isinstance(told, Rulebook):
        answers(told)
        return
    placed = re.compile(re.escape(str(tmp_path)) + r"/[a-z/]+\.yaml:[1-9][0-9]*: ")
    assert all(placed.match(mistake) for mistake in told), told
