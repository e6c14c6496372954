"""The command line, as a person uses it."""

import json
import re
from itertools import pairwise
from pathlib import Path
from shutil import copy
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from tacticapi.advice import Adviser
from tacticapi.api.advice import AdviceSchema
from tacticapi.api.situations import situation_of_json
from tacticapi.cli import main
from tacticapi.cli.serve import gunicorn_options, is_loopback
from tacticapi.rulebook.files import our_rules
from tacticapi.rulebook.load import load
from tacticapi.seeds import DEMO_STORY, demo_folder, demo_situation

from ..builders import HOUSE_TACTIC

NARROW = 80
ROOT = Path(__file__).parents[2]
THUNDER = '{"moment": "change-of-ends", "context": {"thunder": true}}'
MOMENTS = ("AFTER WARM-UP", "BETWEEN POINTS", "CHANGE OF ENDS", "SET BREAK", "AFTER MATCH")


def run(*words: str, **options: Any) -> Result:
    return CliRunner().invoke(main, list(words), **options)


def fits(told: Result, *parts: str) -> None:
    """Whether it worked, fits a narrow terminal, and says all of this in this order."""
    assert told.exit_code == 0, told.output
    assert max(len(line) for line in told.output.splitlines()) <= NARROW
    places = [told.output.index(part) for part in parts]
    assert places == sorted(places)


def test_suggest_prints_a_line_each_for_say_reason_and_look_again():
    told = run("suggest", str(demo_folder() / "set-break.json"))
    fits(told, "1. ", "   Because ", "   Look again ", "Plan: keep. 7 of 14 ", "Score: ", "Look: ", "Please note")
    assert "Worth " not in told.output


def test_suggest_says_safety_first():
    told = run("suggest", "-", input=THUNDER)
    assert told.exit_code == 0
    assert told.output.splitlines()[2] == "Safety first"
    assert "1. " not in told.output


def test_suggest_prints_what_the_service_would_answer():
    told = run("suggest", "-", "--json", input=json.dumps(demo_situation("after-warm-up")))
    assert AdviceSchema().validate(json.loads(told.output)) == {}


@pytest.mark.parametrize("words", [("suggest", "-"), ("rules", "explain", "keep-net-rusher-back", "-")])
def test_every_fault_of_a_situation_is_named_and_the_end_is_two(words):
    told = run(*words, input='{"moment": "lunch", "own": {"volley": 9}}')
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.startswith("/moment: expected one of before-match, ")
    assert "/own/volley: expected a rating: a whole number from 0 to 4, found 9" in told.stderr
    assert run(*words, input="{").exit_code == 2


def test_the_demo_tells_one_match_in_five_moments_on_a_screen_and_a_half():
    told = run("demo")
    fits(told, *(f"{moment}: " for moment in MOMENTS))
    assert told.output.count("\n1. ") == len(MOMENTS)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert readme.partition("```text\n")[2].partition("```")[0] in told.output
    assert len(told.output.splitlines()) <= 36
    details = run("demo", "--details")
    fits(details)
    for part in ("forehand errors: ", "; seen 6 of 15", "1. ", "Look for next", "Source "):
        assert part in details.output


def test_the_moments_of_the_demo_are_one_match():
    """What was seen and tried only grows, and points, errors, tries and serves add up."""
    posted = [demo_situation(moment) for moment in DEMO_STORY]
    for before, after in pairwise(posted):
        assert after.get("observations", [])[: len(before["observations"])] == before["observations"]
        assert after.get("tries", [])[: len(before.get("tries", []))] == before.get("tries", [])
        assert [after[key] for key in ("own", "opponent")] == [before[key] for key in ("own", "opponent")]
    for body in posted[1:]:
        points, tries = body["points_played"]["on_return"], body["tries"]
        assert sum(one["tried"] for one in tries) <= points["of"]
        assert sum(one["won"] for one in tries) <= points["won"]
        followed = [seen for seen in body["observations"] if seen["what"] == "serve.followed_to_net"]
        assert sum(seen["of"] for seen in followed) == points["of"]
        lost = sum(side["of"] - side["won"] for side in body["points_played"].values())
        assert body["own_errors"]["of"] == lost


def test_rules_check_passes_on_our_rules_and_names_a_mistake(tmp_path):
    passed = run("rules", "check")
    assert passed.exit_code == 0, passed.output
    (tmp_path / "tactics").mkdir()
    (tmp_path / "tactics" / "serve.yaml").write_text("category: serve\ntactics:\n  - {id: half-a-rule}\n")
    refused = run("rules", "check", str(tmp_path))
    assert refused.exit_code == 1
    assert "serve.yaml:3" in refused.output


PRICE = "price: {points: serve, share: 0.1, sends: [{ball: serve-t, per_point: 1, instead_of: serve-mix}]}"
HOUSE_TRAIT = """\
traits:
  - id: club_player
    title: Plays as the club does
    means: was taught here
    wing: none
    region: {of: {follows_serve: 1}, highest: 0.5}
"""


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """House rules that load, but whose evidence moves a belief too far."""
    for name, text in (("tactics", HOUSE_TACTIC.replace("order: 5", PRICE)), ("traits", HOUSE_TRAIT)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "club.yaml").write_text(text)
    return tmp_path


def test_rules_check_names_what_moves_a_belief_too_far(house):
    told = run("rules", "check", str(house))
    assert (told.exit_code, told.stdout) == (1, "")
    finding, end = told.stderr.splitlines()
    moved = "club_player by serve.followed_to_net: one chance moves it by 0.427, expected at most 0.25"
    assert (finding, end) == (f"{house}/traits/club.yaml:2: {moved}", "Error: 1 finding")


@pytest.mark.parametrize("words", [["suggest", "-"], ["demo"], ["rules", "explain", "x"], ["rules", "new", "x"]])
def test_rules_that_cannot_be_used_end_every_command_with_their_mistakes(tmp_path, words):
    told = run(*words, env={"TACTICAPI_RULES": str(tmp_path / "none")}, input="{}")
    assert (told.exit_code, told.stdout) == (1, "")
    mistake = f"{tmp_path}/none:1: expected a folder of rule files, found nothing"
    assert told.stderr == f"Error: the rules cannot be used:\n{mistake}\n"


def test_rules_explain_says_why_why_not_and_what_a_tactic_is_worth():
    def explained(*words: str) -> str:
        return run("rules", "explain", *words, input=json.dumps(demo_situation("set-break"))).output

    assert "/observations/" in explained("keep-net-rusher-back", "-")
    assert "held-back" in explained("come-in-behind-short-ball", "-")
    rule, here = explained("work-weaker-wing"), explained("work-weaker-wing", "-")
    assert "tried in" in rule
    assert "instead of" in rule
    assert re.search(r"tried in [\d.]+ of 100 points.*: [+-]\d+\.\d\d points\s+in\s+100", here, re.DOTALL)
    assert "it sends no ball" in explained("heat-precautions")
    assert run("rules", "explain", "no-such").exit_code == 2


def test_rules_explain_says_nothing_of_tactics_where_safety_alone_is_shown():
    told = run("rules", "explain", "keep-net-rusher-back", "-", input=THUNDER)
    assert told.stdout == "Only safety advice is shown now, so only that is explained.\n"


def test_a_new_rule_starts_from_a_template_that_is_a_rule_and_speaks(tmp_path):
    told = run("rules", "new", "aim-at-shoelaces")
    assert told.exit_code == 0
    tactic, case = told.output.split("\n\n")
    (tmp_path / "tactics").mkdir()
    (tmp_path / "tactics" / "rally.yaml").write_text(f"category: rally\ntactics:\n{tactic}\n")
    checked = run("rules", "check", str(tmp_path))
    assert checked.exit_code == 0, checked.output
    asker = Adviser(load([our_rules(), tmp_path]))
    (tried,) = yaml.safe_load(case)
    seen = json.dumps({**tried["suggested"], "limit": 10}).encode()
    advice = asker.recommend(situation_of_json(seen, asker.rulebook))
    assert "aim-at-shoelaces" in {line.tactic for line in advice.suggestions} | {h.tactic for h in advice.held_back}
    assert run("rules", "new", "keep-net-rusher-back").exit_code == 2
    assert run("rules", "new", "Not An Id").exit_code == 2


def test_openapi_prints_the_published_file_and_writes_it_into_its_checkout_alone(monkeypatch, tmp_path):
    published = (ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8")
    printed = run("openapi")
    assert (printed.exit_code, printed.stdout) == (0, published)
    monkeypatch.setattr("tacticapi.cli.suggest.__file__", str(tmp_path / "tacticapi" / "cli" / "suggest.py"))
    installed = run("openapi", "--write")
    assert (installed.exit_code, installed.stdout) == (1, "")
    assert installed.stderr == "Error: there is no checkout to write to: print the contract instead\n"
    (tmp_path / "openapi").mkdir()
    path = tmp_path / "openapi" / "openapi.yaml"
    copy(ROOT / "openapi" / "document.py", path.parent)
    assert run("openapi", "--write").stdout == f"wrote {path}\n"
    assert path.read_text(encoding="utf-8") == published


def test_only_this_machine_is_loopback():
    hosts = ("127.0.0.1", "::1", "localhost", "0.0.0.0", "192.168.1.9", "court.example")
    assert [is_loopback(host) for host in hosts] == [True] * 3 + [False] * 3


def test_each_worker_loads_its_own_engine():
    options = gunicorn_options("::1", 8000, 3)
    worker = "tacticapi.api.http.worker.ProblemWorker"
    assert (options["bind"], options["workers"], options["worker_class"]) == ("[::1]:8000", 3, worker)
    assert options["preload_app"] is False
