"""The short form: how many words are heard, and what is left out first."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
import yaml

from tacticapi.api.advice import advice_body
from tacticapi.client import Advice
from tacticapi.seeds import DEMO_STORY, demo_situation

SCENARIOS = Path(__file__).parents[1] / "scenarios" / "data"
PLAYED = [
    case["request"]
    for path in sorted(SCENARIOS.glob("*.yaml"))
    for case in yaml.load(path.read_text(), yaml.CSafeLoader)
]
CHANGE, BETWEEN = "change-of-ends", "between-points"


def text(words: int, name: str = "word") -> str:
    return " ".join([name] * words)


def suggestion(say: int = 8, reasons: Sequence[int] = (5, 5), stop: int = 8, **more: Any) -> dict[str, Any]:
    because = [{"text": text(number, f"reason{place}"), "what": "seen"} for place, number in enumerate(reasons)]
    words = {"say": text(say, "say"), "why": "why it works", "stop_when": text(stop, "stop")}
    return {"rank": 1, "tactic": "a", "because": because, **words, **more}


def advice(*lines: dict[str, Any], moment: str = CHANGE, plan: int = 8, score: int = 8, looks: int = 2) -> Advice:
    given = {"moment": moment, "safety": [], "suggestions": lines, "score": text(score, "score")}
    given["plan"] = {"verdict": "keep", "tactic": "a", "why": text(plan, "9")}
    return Advice(given, look_for=[{"how": text(8, f"look{n}"), "asks": ""} for n in range(looks)])


def counted(told: Advice) -> int:
    return len(" ".join([part for (_, place), part in told.short.items() if place >= 0]).split())


def number(told: Advice, *kinds: str) -> list[int]:
    return [sum(kind == wanted for kind, _ in told.short) for wanted in kinds]


@pytest.mark.parametrize(
    ("line", "because"),
    [
        ({"say": 20, "reasons": (5, 5, 5), "stop": 10}, [text(5, "reason0"), text(5, "reason1")]),  # two are enough
        ({"say": 24, "reasons": (5, 3), "stop": 14}, [text(5, "reason0")]),  # the second does not fit 45 words
        ({"reasons": ()}, ["why it works"]),
    ],
)
def test_a_suggestion_keeps_two_reasons_where_they_fit(line, because):
    told = advice(suggestion(**line), plan=1, score=1, looks=0).short
    assert [part for (kind, _), part in told.items() if kind in ("because", "second")] == because


def test_the_tries_of_the_plan_are_told_by_the_plan_alone():
    tried = [{"text": "tried 4 times, 2 won", "what": "tries"}, {"text": "seen 2 of 6", "what": "seen"}]
    assert advice(suggestion(because=tried)).short["because", 0] == "seen 2 of 6"
    assert advice(suggestion(because=tried, tactic="b")).short["because", 0] == "tried 4 times, 2 won"


def test_all_is_told_where_there_is_room():
    assert number(advice(suggestion()), "say", "because", "second", "stop", "plan", "score", "look") == [1] * 6 + [2]


@pytest.mark.parametrize(
    ("say", "lines", "seconds", "looks", "stops"),
    [(12, 2, 2, 2, 2), (13, 2, 1, 2, 2), (18, 2, 0, 2, 2), (23, 2, 0, 1, 2), (31, 2, 0, 1, 1), (44, 1, 0, 1, 1)],
)
def test_second_reasons_go_first_then_looks_then_stop_when_then_further_suggestions(say, lines, seconds, looks, stops):
    told = advice(suggestion(say=10), suggestion(say=say, rank=2, tactic="b"))
    assert counted(told) <= 90
    assert number(told, "say", "second", "look", "stop") == [lines, seconds, looks, stops]


def test_between_points_looks_go_before_anything_but_second_reasons():
    told = advice(suggestion(say=8, reasons=(5,), stop=3), moment=BETWEEN, plan=5, score=4)
    assert counted(told) == 25
    assert number(told, "look") == [0]


def test_the_first_line_to_say_is_never_cut():
    told = advice(suggestion(say=40), suggestion(rank=2), moment=BETWEEN)
    assert number(told, "say") == [1]
    assert counted(told) == 40


def test_what_speaks_for_safety_is_neither_cut_nor_counted():
    safe = suggestion(say=24, stop=14, rank=2, tactic="heat", safety=True)
    told = advice(suggestion(say=20, rank=1), safe, safe, moment=BETWEEN)
    assert number(told, "say", "stop") == [3, 2]
    assert counted(told) <= 25


def test_what_a_safety_line_says_in_full_is_not_said_again():
    told = advice(suggestion(), suggestion(tactic="heat", rank=2, safety=True))
    told["safety"] = [{"tactic": "heat", "say": "Stop in the shade."}]
    assert number(told, "say") == [1]
    assert told.in_short().startswith("Safety first\n  - Stop in the shade.\n1. ")


def test_a_plan_without_a_count_is_told_only_where_nothing_is_suggested():
    plan = {"verdict": "keep", "why": "nothing was tried"}
    assert Advice(advice(), plan=plan).short["plan", 0] == "nothing was tried"
    assert ("plan", 0) not in Advice(advice(suggestion()), plan=plan).short


def test_two_looks_for_the_same_are_one():
    same = [{"how": "give both the same ball", "asks": f"How many {n}? As a count."} for n in ("first", "second")]
    told = Advice(advice(), look_for=same)
    assert number(told, "look") == [1]
    assert told.in_short().endswith("Look: How many first? Give both the same ball.")


@pytest.mark.parametrize(
    ("moment", "told"),
    [(BETWEEN, "break point against you"), ("set-break", "break point against you, worth 0.19 of the match")],
)
def test_the_score_is_told_without_what_is_plain_to_see(moment, told):
    score = "break point against you, worth 0.19 of the match; you serve to the ad court"
    assert Advice(advice(moment=moment), score=score).short["score", 0] == told


@pytest.mark.parametrize("request_", [*PLAYED, *map(demo_situation, DEMO_STORY)])
def test_every_answer_is_short(adviser, situation, rulebook, request_):
    given = Advice(advice_body(adviser.recommend(situation(**request_)), "a"))
    told = given.short
    assert counted(given) <= (25 if given["moment"] == BETWEEN else 90)
    lines = {place for kind, place in told if kind == "say"}
    for place in lines:
        assert sum(len(told.get((kind, place), "").split()) for kind in ("say", "because", "second", "stop")) <= 45
    safe = {tactic.id for tactic in rulebook.tactics.values() if tactic.authority == 1}
    about = {one["tactic"]: bool(one.get("safety")) for one in given["suggestions"]}
    assert {name for name, safety in about.items() if safety} == about.keys() & safe
    said = " ".join(given.in_short().split())
    assert all(one["say"] in said for one in [*given["safety"], *given["suggestions"]] if one["tactic"] in safe)
