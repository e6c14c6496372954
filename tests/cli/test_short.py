"""The short form: how many words are heard, and what is left out first."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from tacticapi.cli.text import Short, short, short_line
from tacticapi.domain.advice import Advice, Look, Plan, Reason, SourceLine, Suggestion
from tacticapi.domain.situation import Moment, Verdict
from tacticapi.seeds import DEMO_STORY, demo_situation

SOURCE = SourceLine("common practice")
SCENARIOS = Path(__file__).parents[2] / "scenarios" / "data"
PLAYED = [case["request"] for path in sorted(SCENARIOS.glob("*.yaml")) for case in yaml.safe_load(path.read_text())]


def text(words: int, name: str = "word") -> str:
    return " ".join([name] * words)


def suggestion(say: int = 8, reasons: Sequence[int] = (5, 5), stop: int = 8, **more: Any) -> Suggestion:
    because = tuple(Reason(text(number, f"reason{place}"), "seen") for place, number in enumerate(reasons))
    fields: dict[str, Any] = {"rank": 1, "tactic": "a", "because": because, "safety": False, **more}
    return Suggestion(
        category="rally", title="A", say=text(say, "say"), why="why it works", rests_on=(), not_if="Never.",
        stop_when=text(stop, "stop"), risk="low", caution=None, targets=(), source=SOURCE, sources=(SOURCE,), **fields,
    )  # fmt: skip


def advice(
    *lines: Suggestion, moment: Moment = Moment.CHANGE_OF_ENDS, plan: int = 8, score: int = 8, looks: int = 2
) -> Advice:
    return Advice(
        moment, "1", "sha256:0", suggestions=lines, plan=Plan(Verdict.KEEP, text(plan, "9"), "a"),
        score=text(score, "score"),
        look_for=tuple(Look("what", "asks", text(8, f"look{n}"), 0.0) for n in range(looks)),
    )  # fmt: skip


def counted(told: Short) -> int:
    lines = [part for line in told.lines if not line.of.safety for part in (line.of.say, *line.because, line.stop_when)]
    return len(" ".join([*lines, told.plan, told.score, *told.looks]).split())


@pytest.mark.parametrize(
    ("line", "because"),
    [
        ({"say": 20, "reasons": (5, 5, 5), "stop": 10}, (text(5, "reason0"), text(5, "reason1"))),  # two are enough
        ({"say": 24, "reasons": (5, 3), "stop": 14}, (text(5, "reason0"),)),  # the second does not fit 45 words
        ({"reasons": ()}, ("why it works",)),
    ],
)
def test_a_suggestion_keeps_two_reasons_where_they_fit(line, because):
    assert short_line(suggestion(**line)).because == because


def test_the_tries_of_the_plan_are_told_by_the_plan_alone():
    tried = suggestion(because=(Reason("tried 4 times, 2 won", "tries"), Reason("seen 2 of 6", "seen")))
    assert short_line(tried, plan="a").because == ("seen 2 of 6",)
    assert short_line(tried, plan="b").because == ("tried 4 times, 2 won", "seen 2 of 6")


def test_all_is_told_where_there_is_room():
    told = short(advice(suggestion()))
    assert (len(told.lines[0].because), len(told.looks)) == (2, 2)
    assert all((told.plan, told.score, told.lines[0].stop_when))


@pytest.mark.parametrize(
    ("say", "lines", "seconds", "looks", "stops"),
    [(12, 2, 2, 2, 2), (13, 2, 1, 2, 2), (18, 2, 0, 2, 2), (23, 2, 0, 1, 2), (31, 2, 0, 1, 1), (44, 1, 0, 1, 1)],
)
def test_second_reasons_go_first_then_looks_then_stop_when_then_further_suggestions(say, lines, seconds, looks, stops):
    told = short(advice(suggestion(say=10), suggestion(say=say, rank=2, tactic="b")))
    assert counted(told) <= 90
    assert len(told.lines) == lines
    assert sum(len(line.because) > 1 for line in told.lines) == seconds
    assert len(told.looks) == looks
    assert sum(bool(line.stop_when) for line in told.lines) == stops


def test_between_points_looks_go_before_anything_but_second_reasons():
    told = short(advice(suggestion(say=8, reasons=(5,), stop=3), moment=Moment.BETWEEN_POINTS, plan=5, score=4))
    assert counted(told) == 25
    assert told.looks == ()


def test_the_first_line_to_say_is_never_cut():
    told = short(advice(suggestion(say=40), suggestion(rank=2), moment=Moment.BETWEEN_POINTS))
    assert [line.of.rank for line in told.lines] == [1]
    assert counted(told) == 40


def test_what_speaks_for_safety_is_neither_cut_nor_counted():
    safe = suggestion(say=24, stop=14, rank=2, tactic="heat", safety=True)
    told = short(advice(suggestion(say=20, rank=1), safe, safe, moment=Moment.BETWEEN_POINTS))
    assert [(line.of.safety, bool(line.stop_when)) for line in told.lines] == [(False, False), *[(True, True)] * 2]
    assert counted(told) <= 25


def test_a_plan_without_a_count_is_told_only_where_nothing_is_suggested():
    given = Advice(Moment.SET_BREAK, "1", "", plan=Plan(Verdict.KEEP, "nothing was tried"))
    assert short(given).plan == "nothing was tried"
    assert short(replace(given, suggestions=(suggestion(),))).plan == ""


def test_two_looks_for_the_same_are_one():
    same = [Look(what, "asks", "give both the same ball", 0.0) for what in ("a", "b")]
    assert short(Advice(Moment.SET_BREAK, "1", "", look_for=tuple(same))).looks == ("give both the same ball",)


def test_the_score_is_told_without_what_is_plain_to_see():
    score = "break point against you, worth 0.19 of the match; you serve to the ad court"
    told = {moment: short(Advice(moment, "1", "", score=score)).score for moment in Moment}
    assert told[Moment.BETWEEN_POINTS] == "break point against you"
    assert told[Moment.SET_BREAK] == "break point against you, worth 0.19 of the match"


@pytest.mark.parametrize("request_", [*PLAYED, *map(demo_situation, DEMO_STORY)])
def test_every_answer_is_short(adviser, situation, rulebook, request_):
    given = adviser.recommend(situation(**request_))
    told = short(given)
    assert counted(told) <= (25 if given.moment is Moment.BETWEEN_POINTS else 90)
    for line in told.lines:
        assert len(" ".join((line.of.say, *line.because, line.stop_when)).split()) <= 45
    safe = {tactic.id for tactic in rulebook.tactics.values() if tactic.authority == 1}
    shown = {line.of.tactic for line in told.lines} | {line.tactic for line in given.safety}
    assert {one.tactic for one in given.suggestions} & safe <= shown
    assert len(shown) == len(told.lines) + len(given.safety)
