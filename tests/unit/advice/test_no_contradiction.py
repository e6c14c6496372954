"""No answer says one thing and its opposite, nor a line against its own plan: random situations."""

import random

import pytest

from tacticapi.api.situations import read_situation
from tacticapi.domain.rules import RelationKind
from tacticapi.domain.situation import Verdict

from ...benchmarks.bodies import body
from ...builders import scored

PRAISES = {"keep-a-winning-game", "when-ahead-play-same", "hold-plan-through-one-good-ball", "same-plan-on-big-points"}
CHANGES = {"change-losing-game-keep-winning-game", "change-in-order"}
OPPOSED = [
    ({"keep-a-winning-game"}, {*CHANGES, "when-outclassed-change-match"}),
    ({"when-ahead-play-same"}, {"take-risks-in-chosen-places-when-behind", "raise-ball-making-when-behind"}),
    ({"slow-high-bounce-patience"}, {"fast-low-bounce-first-strike"}),
    ({"two-even-wings-play-your-own-pattern"}, {"work-weaker-wing", "serve-and-rally-to-weaker-forehand"}),
    ({"keep-net-rusher-back"}, {"bring-an-uncomfortable-player-forward", "bring-a-retriever-off-the-baseline"}),
    ({"first-serve-as-weapon"}, {"first-serve-percentage-before-pace"}),
]
SCORES = [
    scored("2-5"),
    scored("1-4", "6-2", "15-40"),
    scored("4-1", "6-2", server="opponent"),
    scored("3-3", "4-6 6-3", "40-30", server="opponent"),
]


@pytest.fixture(scope="module")
def drawn(rulebook, adviser):
    draw = random.Random(7)
    found = []
    for number in range(150):
        asked = body(draw, rulebook, draw.choice((6, 15, 30)))
        asked["score"] = draw.choice(SCORES)
        asked["moment"] = draw.choice(("between-points", "change-of-ends", "set-break"))
        asked["context"] |= {"court_pace": draw.randint(1, 5), "bounce": draw.choice(("low", "high"))}
        tactic = draw.choice([name for name, one in rulebook.tactics.items() if one.price])
        asked["tries"] = [{"tactic": tactic, "tried": 16, "won": draw.randint(1, 15)}]
        asked["limit"] = 10 if number % 2 else 3
        asked.pop("own_errors" if number % 3 else "points_played")
        found.append(adviser.recommend(read_situation(asked, rulebook)))
    return found


def test_no_two_lines_of_one_answer_exclude_each_other(rulebook, drawn):
    every = [(tactic.id, relation) for tactic in rulebook.tactics.values() for relation in tactic.relations]
    named = {frozenset((id, relation.to)) for id, relation in every if relation.kind is not RelationKind.SUPPORTS}
    for advice in drawn:
        plan = advice.plan.tactic if advice.plan and advice.plan.verdict is Verdict.KEEP else None
        shown = [line.tactic for line in advice.suggestions]
        for one, others in OPPOSED:
            assert not (one & {*shown} and others & {*shown}), shown
        pairs = {frozenset((a, b)) for a in shown for b in shown if a != b and plan not in (a, b)}
        assert not pairs & named, shown


def test_no_line_praises_a_plan_that_is_to_change(drawn):
    verdicts = set()
    for advice in drawn:
        assert advice.plan is not None
        verdicts.add(advice.plan.verdict)
        shown = {line.tactic for line in advice.suggestions}
        if advice.plan.verdict is Verdict.CHANGE:
            assert not shown & PRAISES, shown
            assert advice.plan.tactic not in shown
        if advice.plan.verdict is Verdict.KEEP:
            assert not shown & CHANGES, shown
    assert verdicts == {*Verdict}


def test_the_court_is_called_what_it_is(advise):
    for pace, bounce in ((1, "low"), (1, "high"), (3, "medium"), (5, "low"), (5, "high")):
        advice = advise(moment="after-warm-up", context={"court_pace": pace, "bounce": bounce}, limit=10)
        said = " ".join(line.say for line in advice.suggestions).lower()
        true = {"slow court": pace <= 2, "fast court": pace >= 4}
        true |= {f"{height} bounce": bounce == height for height in ("low", "high")}
        assert [words for words, so in true.items() if words in said and not so] == []
