"""What is set aside, in order: by own strokes, counter-indications, the moment, the gain, and conflicts."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.advice.selection import hold_back, settle_conflicts, unmet_gate, wrong_moment
from tacticapi.domain.firing import Firings, Priced
from tacticapi.domain.rulebook import Category, MomentRule, Rulebook
from tacticapi.domain.situation import Situation, Tries
from tacticapi.domain.tactic import Counter, Gate, Tactic
from tacticapi.domain.terms import HeldBack, Moment, Show
from tacticapi.inference.danger import Health, Pain

Price = Callable[..., Priced]
MakeTactic = Callable[..., Tactic]
RALLY = Category("rally", "Rally", True, 4)
SERVE_BREAK = MomentRule(Moment.CHANGE_OF_ENDS, 2, ("rally",))
NO_RALLY = MomentRule(Moment.CHANGE_OF_ENDS, 2, ("serve",))
SERVE_ONLY = MomentRule(Moment.BETWEEN_POINTS, 1, ("serve",), only_categories=True)


def names(items: list[Priced]) -> list[str]:
    return [item.firing.tactic.id for item in items]


def settled(*items: Priced, **values: float) -> tuple[list[str], list[str]]:
    worth = {item.firing.tactic.id: 0.0 for item in items} | values
    kept, held = settle_conflicts(list(items), worth)
    assert all(h.reason is HeldBack.CONFLICT for h in held)
    return names(kept), [h.tactic for h in held]


def test_an_explicit_override_wins_whatever_the_two_are_worth(priced: Price) -> None:
    assert settled(priced("a", overrides="b"), priced("b"), b=0.9) == (["a"], ["b"])


def test_who_yields_loses_whatever_the_two_are_worth(priced: Price) -> None:
    assert settled(priced("a", yields_to="b"), priced("b"), a=0.9) == (["b"], ["a"])


def test_a_conflict_is_settled_by_authority_before_value(priced: Price) -> None:
    assert settled(priced("a", conflicts="b", authority=5), priced("b", authority=4), a=0.9) == (["b"], ["a"])


def test_a_conflict_of_equal_authority_is_settled_by_match_gain(priced: Price) -> None:
    pair = priced("a", conflicts="b"), priced("b")
    assert settled(*pair, a=0.02, b=0.01) == (["a"], ["b"])
    assert settled(*pair, a=0.01, b=0.02) == (["b"], ["a"])


def test_an_exact_tie_goes_to_the_first_id_whoever_names_the_other(priced: Price) -> None:
    assert settled(priced("a", conflicts="b"), priced("b")) == (["a"], ["b"])
    assert settled(priced("b", conflicts="a"), priced("a")) == (["a"], ["b"])


def test_tactics_that_support_each_other_or_name_nobody_stay(priced: Price) -> None:
    assert settled(priced("a", supports="b"), priced("b"), priced("c", conflicts="d")) == (["a", "b", "c"], [])


def test_a_tactic_that_was_set_aside_sets_nothing_aside(priced: Price) -> None:
    """b beats c and a beats b: with b gone, c stays."""
    items = priced("a", overrides="b"), priced("b", conflicts="c"), priced("c")
    assert settled(*items, b=0.9) == (["a", "c"], ["b"])


def test_overrides_are_settled_before_conflicts(priced: Price) -> None:
    """b would win its conflict with a by value, but c overrides b first."""
    items = priced("a", conflicts="b"), priced("b"), priced("c", overrides="b", authority=8)
    assert settled(*items, b=0.9) == (["a", "c"], ["b"])


def test_the_reason_is_how_the_rule_settles_it(priced: Price) -> None:
    _, held = settle_conflicts([priced("a", conflicts="b"), priced("b")], {"a": 1.0, "b": 0.0})
    assert held[0].why == "as a says"


def test_the_order_in_which_tactics_fired_settles_nothing(priced: Price) -> None:
    items = [priced("a", conflicts="b"), priced("b", conflicts="c"), priced("c", overrides="d"), priced("d")]
    worth = {"a": 0.01, "b": 0.02, "c": 0.03, "d": 0.04}
    results = {tuple(sorted(names(settle_conflicts(order, worth)[0]))) for order in (items, items[::-1])}
    assert len(results) == 1


@pytest.mark.parametrize(
    ("needs", "own", "words"),
    [
        ((), {}, None),
        ((Gate(("volley",), 2),), {"volley": 2}, None),
        ((Gate(("volley",), 2),), {"volley": 1}, "needs volley 2 or more; volley is rated 1"),
        ((Gate(("volley",), 2),), {"volley": 0}, "needs volley 2 or more; volley is rated 0"),
        ((Gate(("volley",), 2),), {"volley": None}, "needs volley 2 or more; your volley is not rated"),
        ((Gate(("overhead",), 2),), {"overhead": 1}, "needs smash 2 or more; smash is rated 1"),
        ((Gate(("drop_shot",), 2),), {}, "needs drop shot 2 or more; your drop shot is not rated"),
        ((Gate(("volley", "drop_shot"), 2),), {"drop_shot": 3}, None),
        (
            (Gate(("volley", "drop_shot"), 2),),
            {},
            "needs volley or drop shot 2 or more; your volley or drop shot is not rated",
        ),
        (
            (Gate(("volley", "drop_shot"), 2),),
            {"volley": 1, "drop_shot": 0},
            "needs volley or drop shot 2 or more; volley is rated 1 and drop shot is rated 0",
        ),
        ((Gate(("volley",), 2), Gate(("lob",), 1)), {"volley": 3}, "needs lob 1 or more; your lob is not rated"),
    ],
)
def test_a_stroke_that_is_missing_is_named_with_its_rating(
    tactic: MakeTactic, rulebook: Rulebook, needs: tuple[Gate, ...], own: dict[str, Any], words: str | None
) -> None:
    assert unmet_gate(tactic("a", needs=needs), own, rulebook) == words


def test_the_moment_lets_evidence_speak_and_keeps_reminders_to_their_categories(tactic: MakeTactic) -> None:
    gain, reminder, first = (tactic("a", show=show) for show in (Show.GAIN, Show.REMINDER, Show.FIRST))
    assert wrong_moment(gain, NO_RALLY, RALLY) is None
    assert wrong_moment(reminder, NO_RALLY, RALLY) == "no reminder on rally is shown at this moment"
    assert wrong_moment(reminder, SERVE_BREAK, RALLY) is None
    assert wrong_moment(first, SERVE_ONLY, RALLY) is None


def test_between_points_only_the_categories_of_the_moment_speak(tactic: MakeTactic) -> None:
    assert wrong_moment(tactic("a"), SERVE_ONLY, RALLY) == "no suggestion on rally is shown at this moment"


def test_a_tactic_of_one_moment_is_not_shown_at_another(tactic: MakeTactic) -> None:
    planned = tactic("a", moments=(Moment.BEFORE_MATCH,))
    assert wrong_moment(planned, SERVE_BREAK, RALLY) == "belongs to another moment (before-match)"


def loading(item: Priced, *parts: str, tires: bool = False) -> Priced:
    return replace(item, firing=replace(item.firing, tactic=replace(item.firing.tactic, loads=parts, tires=tires)))


@pytest.mark.parametrize(
    ("loads", "site", "part", "why"),
    [
        (("arm",), "elbow", "arm", "your elbow hurts, and this loads the arm"),
        (("arm", "legs"), "knee", "legs", "your knee hurts, and this loads the legs"),
        (("legs",), "elbow", "arm", None),
        ((), "elbow", "arm", None),
    ],
)
def test_what_loads_a_sore_part_of_the_body_is_held_back_and_the_rest_is_not(
    *, priced: Price, rulebook: Rulebook, loads: tuple[str, ...], site: str, part: str, why: str | None
) -> None:
    sore = Health(pain=Pain(1, (site,), stops=False), sore=(part,))
    kept, held = hold_back([loading(priced("a"), *loads)], Firings({}, {}), CHANGE, rulebook, sore)
    assert [(h.reason, h.why) for h in held] == ([(HeldBack.COUNTER_INDICATION, why)] if why else [])
    assert names(kept) == ([] if why else ["a"])


@pytest.mark.parametrize(
    ("tires", "breathless", "kept"), [(True, True, []), (True, False, ["a"]), (False, True, ["a"])]
)
def test_nobody_short_of_breath_is_worked_harder(
    *, priced: Price, rulebook: Rulebook, tires: bool, breathless: bool, kept: list[str]
) -> None:
    item = loading(priced("a"), tires=tires)
    told, held = hold_back([item], Firings({}, {}), CHANGE, rulebook, Health(breathless=breathless))
    assert names(told) == kept
    assert [h.why for h in held] == ([] if kept else ["your opponent is short of breath: nobody works them harder"])


def held_reasons(rulebook: Rulebook, item: Priced, asked: Situation, *counters: int) -> list[tuple[HeldBack, str]]:
    firings = Firings({}, {item.firing.tactic.id: counters})
    kept, held = hold_back([item], firings, asked, rulebook, Health())
    assert len(kept) + len(held) <= 1
    return [(h.reason, h.why) for h in held]


CHANGE = Situation(Moment.CHANGE_OF_ENDS, own={"volley": 1})


def test_own_strokes_are_asked_before_counter_indications_and_these_before_the_moment(
    priced: Price, rulebook: Rulebook
) -> None:
    against = Counter((), "they pass well")
    full = priced("a", needs=(Gate(("volley",), 2),), moments=(Moment.BEFORE_MATCH,))
    tactic = replace(full.firing.tactic, unless=(Counter((), "not this"), against))
    item = replace(full, firing=replace(full.firing, tactic=tactic))
    rated = replace(CHANGE, own={"volley": 3})
    assert held_reasons(rulebook, item, CHANGE, 1) == [
        (HeldBack.OWN_ABILITY, "needs volley 2 or more; volley is rated 1")
    ]
    assert held_reasons(rulebook, item, rated, 1) == [(HeldBack.COUNTER_INDICATION, "they pass well")]
    assert held_reasons(rulebook, item, rated)[0][0] is HeldBack.MOMENT


def test_a_reminder_without_a_place_at_the_moment_is_no_news(priced: Price, rulebook: Rulebook) -> None:
    item = priced("a", show=Show.REMINDER, category="positioning")
    assert hold_back([item], Firings({}, {}), CHANGE, rulebook, Health()) == ([], [])


def test_what_does_not_pay_is_held_back_with_its_chance(priced: Price, rulebook: Rulebook) -> None:
    item = replace(priced("a"), expected=-0.001, chance=0.31)
    ((reason, why),) = held_reasons(rulebook, item, CHANGE)
    assert reason is HeldBack.COUNTER_INDICATION
    assert why.startswith("it fits with a chance of 31 %")


def test_a_few_lost_tries_do_not_hold_a_tactic_back_but_eight_do(priced: Price, rulebook: Rulebook) -> None:
    item = replace(priced("a"), expected=0.01, point=-0.002)
    few, many = (replace(CHANGE, tries=(Tries("a", tried, 1),)) for tried in (7, 8))
    assert held_reasons(rulebook, item, few) == []
    assert held_reasons(rulebook, item, many)[0][0] is HeldBack.COUNTER_INDICATION
