import pytest

from tacticapi.domain.reasoning import MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.rulebook.lint import Finding, lint
from tacticapi.rulebook.load import load
from tacticapi.rulebook.match_rules import match_rules

LIKELY = Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 700),))
RIGHT = Condition(FactKind.OWN, "handedness", (Test("value", Op.IS, "right"),))
BREAK_POINT = Condition(FactKind.CIRCUMSTANCE, "break-point-for")


def own_kick(value, op=Op.AT_LEAST):
    return Condition(FactKind.OWN, "kick", (Test("number", op, value),))


def observed(name, *tests, **more):
    return Condition(FactKind.OBSERVED, name, tuple(Test(*test) for test in tests), **more)


def findings(make_rulebook, *conditions):
    return lint([MatchRule("tactic/t/0", conditions)], make_rulebook())


def test_a_sound_rulebook_has_no_findings(make_tactic, make_rulebook):
    tactic = make_tactic(
        "low-slice", (LIKELY, RIGHT, own_kick(2)), unless=[(Condition(FactKind.CIRCUMSTANCE, "chained"),)]
    )
    tries = Condition(FactKind.TRIES, "low-slice", (Test("tried", Op.AT_LEAST, 6), Test("permille", Op.AT_MOST, 400)))
    other = make_tactic("other", (tries, BREAK_POINT, Condition(FactKind.UNSEEN, "rally.low_ball")))
    rulebook = make_rulebook([tactic, other], {"chained": [(RIGHT,)]})
    assert lint(match_rules(rulebook), rulebook) == []


@pytest.mark.parametrize(
    "condition",
    [
        Condition(FactKind.BELIEF, "nobody", (Test("permille", Op.AT_LEAST, 700),)),
        Condition(FactKind.OWN, "shoe_size"),
        Condition(FactKind.OPPONENT, "handedness"),
        Condition(FactKind.CONTEXT, "moon"),
        Condition(FactKind.OBSERVED, "rally.moon_ball"),
        Condition(FactKind.OBSERVED, "own.kick"),
        Condition(FactKind.UNSEEN, "own.kick"),
        Condition(FactKind.SCORE, "goals"),
        Condition(FactKind.TRIES, "no-such-tactic"),
        Condition(FactKind.CIRCUMSTANCE, "full-moon"),
    ],
)
def test_a_name_that_the_rulebook_does_not_know_is_refused(make_rulebook, condition):
    (finding,) = findings(make_rulebook, condition)
    assert finding == Finding(
        "tactic/t/0", f"unknown name: {condition.kind} {condition.name}", "a name of the rulebook"
    )


@pytest.mark.parametrize(
    "condition",
    [
        Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 0),)),
        Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 1000),)),
        Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 0.7),)),
        Condition(FactKind.BELIEF, "weak_low_ball"),
        Condition(FactKind.BELIEF, "hides_backhand", (*LIKELY.tests, Test("wing", Op.IS, "forehand"))),
        Condition(FactKind.BELIEF, "tires", (*LIKELY.tests, Test("wing", Op.IS, "forehand"))),
        Condition(FactKind.OWN, "handedness", (Test("value", Op.IS, "ambidextrous"),)),
        Condition(FactKind.OWN, "handedness", (Test("value", Op.AT_LEAST, "left"),)),
        Condition(FactKind.OWN, "handedness", (Test("number", Op.AT_LEAST, 1),)),
        Condition(FactKind.CONTEXT, "heat", (Test("number", Op.AT_LEAST, 61),)),
        Condition(FactKind.CONTEXT, "indoor", (Test("value", Op.IS, "maybe"),)),
        own_kick(5),
        own_kick(True),
        own_kick("2"),
        observed("rally.low_ball", ("permille", Op.AT_LEAST, 1001)),
        observed("rally.low_ball", ("rating", Op.AT_LEAST, 200)),
        observed("rally.low_ball", ("court", Op.IS, "ad")),
        observed("serve.spots", ("option", Op.IS, "middle")),
        Condition(FactKind.SCORE, "serving", (Test("value", Op.IS, "both"),)),
        Condition(FactKind.CIRCUMSTANCE, "break-point-for", (Test("value", Op.IS, "yes"),)),
    ],
)
def test_a_value_that_the_fact_cannot_have_is_refused(make_rulebook, condition):
    (finding,) = findings(make_rulebook, condition)
    assert condition.name in finding.what
    assert finding.expected


@pytest.mark.parametrize(
    "condition",
    [
        Condition(FactKind.CONTEXT, "indoor", (Test("value", Op.IS, "no"),)),
        Condition(FactKind.CONTEXT, "heat", (Test("number", Op.AT_LEAST, 32),)),
        Condition(FactKind.SCORE, "games_ahead", (Test("number", Op.AT_MOST, -2),)),
        observed("serve.spots", ("option", Op.IS, "T"), ("permille", Op.AT_LEAST, 500), ("chances", Op.AT_LEAST, 6)),
        observed("rally.low_ball", ("wing", Op.IS, "backhand")),
    ],
)
def test_a_value_that_the_fact_can_have_is_accepted(make_rulebook, condition):
    assert findings(make_rulebook, condition) == []


def test_over_eight_conditions_are_refused(make_rulebook):
    conditions = [*(own_kick(n) for n in range(5)), *(own_kick(n, Op.AT_MOST) for n in range(4))]
    assert findings(make_rulebook, *conditions) == [Finding("tactic/t/0", "9 conditions", "at most 8")]


def test_one_condition_written_twice_is_refused(make_rulebook):
    (finding,) = findings(make_rulebook, RIGHT, RIGHT)
    assert finding.what == "own handedness stands 2 times"


def test_a_tie_to_nothing_is_refused(make_rulebook):
    (finding,) = findings(make_rulebook, RIGHT, observed("rally.low_ball", same_wing=True))
    assert finding.what == "the same wing as what?"


def test_a_tie_to_a_belief_without_a_wing_is_refused(make_rulebook):
    tires = Condition(FactKind.BELIEF, "tires", LIKELY.tests)
    (finding,) = findings(make_rulebook, tires, observed("rally.low_ball", same_wing=True))
    assert finding.what == "belief tires carries no wing"


def test_over_64_conditions_that_one_fact_could_satisfy_are_refused(make_rulebook):
    def rules(number):
        return [
            MatchRule(f"tactic/t{n}/0", (observed("rally.low_ball", ("permille", Op.AT_LEAST, n)),))
            for n in range(number)
        ]

    assert lint(rules(64), make_rulebook()) == []
    assert lint(rules(65), make_rulebook()) == [
        Finding("observed rally.low_ball", "65 different conditions", "at most 64")
    ]


def test_over_250_rules_on_one_condition_are_refused_unless_they_are_equal(make_rulebook):
    def rules(number):
        chances = [observed("rally.low_ball", ("chances", Op.AT_LEAST, n)) for n in range(16)]
        pairs = [(BREAK_POINT, a, b) for a in chances for b in chances if a != b]
        return [MatchRule(f"tactic/t{n}/0", conditions) for n, conditions in enumerate([*pairs, *pairs][:number])]

    def crowded(number):
        more = [
            MatchRule(f"tactic/u{n}/0", (BREAK_POINT, own_kick(n % 5), LIKELY, own_kick(n // 5, Op.AT_MOST)))
            for n in range(25)
        ]
        return [f for f in lint([*rules(number), *more], make_rulebook()) if f.where == "circumstance break-point-for"]

    assert crowded(225) == []
    assert crowded(226) == [Finding("circumstance break-point-for", "251 rules with the same condition", "at most 250")]
    assert lint(rules(480), make_rulebook()) == []


def test_over_500_names_of_one_kind_of_facts_are_refused(make_tactic, make_rulebook):
    rulebook = make_rulebook([make_tactic(f"t{n}", (RIGHT,)) for n in range(501)])
    tries = [Condition(FactKind.TRIES, name, (Test("tried", Op.AT_LEAST, 6),)) for name in rulebook.tactics]
    rules = [MatchRule(f"tactic/{one.name}/0", (one,)) for one in tries]
    assert lint(rules[:500], rulebook) == []
    assert lint(rules, rulebook) == [Finding("tries", "501 different names", "at most 500")]


def test_a_name_that_is_too_long_for_the_engine_is_refused(make_tactic, make_rulebook):
    names = ["t" * 64, "t" * 65]
    rulebook = make_rulebook([make_tactic(name, (RIGHT,)) for name in names])
    tries = [Condition(FactKind.TRIES, name, (Test("tried", Op.AT_LEAST, 6),)) for name in names]
    assert lint([MatchRule("tactic/t/0", tuple(tries))], rulebook) == [
        Finding("tactic/t/0", f"tries {names[1]}: unfit name", "plain characters, at most 64")
    ]


def test_circumstances_that_go_in_a_circle_are_refused(make_rulebook):
    a, b = (Condition(FactKind.CIRCUMSTANCE, name) for name in "ab")
    rulebook = make_rulebook((), {"a": [(b,)], "b": [(a, RIGHT)]})
    (finding,) = lint(match_rules(rulebook), rulebook)
    assert finding.expected == "no circle"


def test_a_derived_circumstance_that_nobody_uses_is_refused(make_rulebook):
    rulebook = make_rulebook((), {"idle": [(RIGHT,)]})
    assert [f.where for f in lint(match_rules(rulebook), rulebook)] == ["circumstance idle"]


def test_a_circumstance_must_be_derived_or_computed_and_not_both(make_rulebook):
    user = MatchRule("tactic/t/0", (Condition(FactKind.CIRCUMSTANCE, "hot"), Condition(FactKind.CIRCUMSTANCE, "who")))
    rulebook = make_rulebook((), {"hot": [(RIGHT,)], "who": []})
    assert [(f.where, f.what) for f in lint([*match_rules(rulebook), user], rulebook)] == [
        ("circumstance who", "neither derived nor computed"),
        ("circumstance hot", "both derived and computed"),
    ]


def test_our_own_rulebook_has_no_findings():
    rulebook = load()
    assert lint(match_rules(rulebook), rulebook) == []
