"""What is set aside, by own strokes, counter-indications, the moment, gain and conflicts, and the order of the rest."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.advice.selection import (
    Value,
    capped,
    counter_indication,
    hold_back,
    in_families,
    is_tactical,
    limited,
    ranked,
    settle_conflicts,
    steady,
    unmet_gate,
    wrong_moment,
)
from tacticapi.domain.advice import HeldBackTactic
from tacticapi.domain.reasoning import Fact, Firings, Priced
from tacticapi.domain.rules import (
    Category,
    Counter,
    FactKind,
    Gate,
    MomentRule,
    Relation,
    RelationKind,
    Rulebook,
    Tactic,
)
from tacticapi.domain.situation import HeldBack, Moment, Previous, Show, Situation, Tries
from tacticapi.rulebook.danger import Health, Pain

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
        ((Gate(("volley",), 2),), {"volley": 2.5}, None),
        ((Gate(("volley",), 2),), {"volley": 1.5}, "needs volley 2 or more; volley is rated 1.5"),
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


# Order, limits and worth ----------------------------------------------------------------------------------------------


def worth(**match: float) -> dict[str, Value]:
    return {name: Value(value, value / 2) for name, value in match.items()}


def test_law_and_safety_stand_before_gain_and_gain_before_reminders(priced: Price) -> None:
    items = [priced("a", show=Show.REMINDER), priced("b"), priced("c", show=Show.FIRST, authority=2)]
    assert names(ranked(items, worth(a=0.9, b=0.5, c=0.0))) == ["c", "b", "a"]


def test_among_those_shown_first_safety_stands_before_law(priced: Price) -> None:
    items = [priced("a", show=Show.FIRST, authority=2), priced("b", show=Show.FIRST, authority=1)]
    assert names(ranked(items, worth(a=0.9, b=0.0))) == ["b", "a"]


def test_authority_is_no_ranking_key_among_gains(priced: Price) -> None:
    items = [priced("a", authority=1), priced("b", authority=8)]
    assert names(ranked(items, worth(a=0.01, b=0.02))) == ["b", "a"]


def test_equal_match_gains_rank_by_points_and_then_by_id(priced: Price) -> None:
    items = [priced(name) for name in "dcba"]
    values = {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1), "c": Value(0.01, 0.2), "d": Value(0.0, 0.9)}
    assert names(ranked(items, values)) == ["c", "a", "b", "d"]


def test_of_a_family_the_best_counts_in_full_and_the_others_half(priced: Price) -> None:
    items = [priced("a", family="f"), priced("b", family="f"), priced("c", family="f"), priced("d")]
    told = in_families(items, worth(a=0.02, b=0.03, c=0.01, d=0.004), 0.5)
    assert {name: value.match for name, value in told.items()} == {"a": 0.01, "b": 0.03, "c": 0.005, "d": 0.004}
    assert told["a"].point == pytest.approx(0.005)


def test_at_most_so_many_lines_are_shown(priced: Price, rulebook: Rulebook) -> None:
    items = [priced(name) for name in "abcd"]
    assert names(limited(items, 2, rulebook.categories, None)) == ["a", "b"]
    assert names(limited(items, 9, rulebook.categories, None)) == ["a", "b", "c", "d"]


def test_a_tactical_limit_lets_care_and_law_through(priced: Price, rulebook: Rulebook) -> None:
    care = priced("d", category="physical", show=Show.REMINDER)
    law = priced("e", category="law-and-conduct", show=Show.FIRST)
    items = [priced("a"), priced("b"), priced("c"), care, law]
    assert names(limited(items, 5, rulebook.categories, 2)) == ["a", "b", "d", "e"]


gains = st.lists(st.tuples(st.floats(-0.02, 0.06), st.floats(-0.02, 0.06)), min_size=1, max_size=6)


@given(steps=gains, weights=st.lists(st.sampled_from((0.5, 1.0)), min_size=6, max_size=6))
def test_all_that_is_shown_gains_at_most_three_points_in_a_hundred_on_serve_and_on_return(
    priced: Price, steps: list[tuple[float, float]], weights: list[float]
) -> None:
    items = [priced(str(place), serve, return_) for place, (serve, return_) in enumerate(steps)]
    told = capped(items, {str(place): weight for place, weight in enumerate(weights)}, 0.03)
    assert names(told) == names(items)
    for side in ("serve", "return_"):
        assert sum(max(0.0, getattr(item, side)) for item in told) <= 0.03 + 1e-12
    assert all(item.point == pytest.approx((item.serve + item.return_) / 2) for item in told)


def test_gains_below_the_ceiling_are_left_as_they_are(priced: Price) -> None:
    told = capped([priced("a", 0.01, 0.0), priced("b", 0.01, 0.02)], {"a": 1.0, "b": 0.5}, 0.03)
    assert [(item.serve, item.return_) for item in told] == [(0.01, 0.0), (0.005, 0.01)]


# At the edges ---------------------------------------------------------------------------------------------------------


AT_CHANGE = Situation(Moment.CHANGE_OF_ENDS)
NONE = Firings({}, {})
WELL = Health()


def related(item: Priced, *relations: Relation) -> Priced:
    return replace(item, firing=replace(item.firing, tactic=replace(item.firing.tactic, relations=relations)))


# Own strokes and counter-indications -------------------------------------------------------------------------------


def test_of_counter_indications_the_first_that_holds_is_told(tactic: MakeTactic) -> None:
    guarded = replace(tactic("a"), unless=tuple(Counter((), why) for why in ("first", "second", "third")))
    assert counter_indication(guarded, Firings({}, {"a": (1, 2)})) == "second"
    assert counter_indication(guarded, Firings({}, {"b": (0,)})) is None
    assert counter_indication(guarded, Firings({}, {"a": ()})) is None


# What is held back -------------------------------------------------------------------------------------------------


def believed(item: Priced, *permille: int) -> Priced:
    facts = tuple(Fact(f"b{n}", FactKind.BELIEF, "weak_low_ball", {"permille": p}) for n, p in enumerate(permille))
    return replace(item, firing=replace(item.firing, facts=facts))


@pytest.mark.parametrize(
    ("permille", "told"), [((), True), ((1000,), True), ((0,), False), ((1000, 0), False), ((1000, 1000), True)]
)
def test_nothing_is_told_of_a_tactic_on_a_belief_that_is_open(
    priced: Price, rulebook: Rulebook, permille: tuple[int, ...], told: bool
) -> None:
    item = believed(replace(priced("a"), expected=-0.01), *permille)
    kept, held = hold_back([item], NONE, AT_CHANGE, rulebook, WELL)
    assert (kept, [h.tactic for h in held]) == ([], ["a"] if told else [])


def test_what_an_open_belief_prices_is_told_if_a_firm_one_speaks_for_it(priced: Price, rulebook: Rulebook) -> None:
    """The open one may be priced higher; whoever saw the firm one asks why the tactic is missing."""
    item = believed(replace(priced("a"), expected=-0.01), 300)
    firm = believed(item, 900).firing
    held = hold_back([item], Firings({"a": (item.firing, firm)}, {}), AT_CHANGE, rulebook, WELL)[1]
    assert [h.tactic for h in held] == ["a"]


def test_a_belief_that_just_leans_is_no_longer_open(priced: Price, rulebook: Rulebook) -> None:
    leaning = round(1000 * float(rulebook.defaults["levels"]["leaning"]))
    for permille, told in ((leaning, 1), (leaning - 1, 0)):
        item = believed(replace(priced("a"), expected=-0.01), permille)
        assert len(hold_back([item], NONE, AT_CHANGE, rulebook, WELL)[1]) == told


def test_several_tactics_are_kept_or_held_each_for_itself(priced: Price, rulebook: Rulebook) -> None:
    open_ = believed(replace(priced("b"), expected=-0.01), 0)
    lost = replace(priced("c"), expected=-0.01, chance=0.55)
    out_of_place = priced("d", show=Show.REMINDER, category="positioning")
    items = [priced("a"), open_, lost, out_of_place, priced("e")]
    kept, held = hold_back(items, NONE, AT_CHANGE, rulebook, WELL)
    assert names(kept) == ["a", "e"]
    assert [(h.tactic, h.reason) for h in held] == [("c", HeldBack.COUNTER_INDICATION)]
    assert "55 %" in held[0].why
    assert held[0].why.endswith("what was tried, it is not expected to pay")


def test_whatever_speaks_against_a_tactic_is_held_under_its_name_with_its_reason(
    priced: Price, rulebook: Rulebook
) -> None:
    needy = priced("a", needs=(Gate(("lob",), 2),))
    plain = priced("b")
    guarded = replace(
        plain,
        firing=replace(plain.firing, tactic=replace(plain.firing.tactic, unless=(Counter((), "they pass well"),))),
    )
    planned = priced("c", moments=(Moment.BEFORE_MATCH, Moment.SET_BREAK))
    _, held = hold_back([needy, guarded, planned], Firings({}, {"b": (0,)}), AT_CHANGE, rulebook, WELL)
    assert held == [
        HeldBackTactic("a", HeldBack.OWN_ABILITY, "needs lob 2 or more; your lob is not rated"),
        HeldBackTactic("b", HeldBack.COUNTER_INDICATION, "they pass well"),
        HeldBackTactic("c", HeldBack.MOMENT, "belongs to another moment (before-match, set-break)"),
    ]


@pytest.mark.parametrize(
    ("expected", "point", "simulated", "pays"),
    [
        (0.01, 0.01, False, True),
        (0.0, 0.01, False, False),
        (0.001, 0.0001, False, True),
        (0.01, 0.0, False, True),  # nothing tried yet that speaks against it
    ],
)
def test_a_tactic_pays_while_a_gain_is_expected(
    *, priced: Price, rulebook: Rulebook, expected: float, point: float, simulated: bool, pays: bool
) -> None:
    item = replace(priced("a"), expected=expected, point=point, simulated=simulated)
    assert bool(hold_back([item], NONE, AT_CHANGE, rulebook, WELL)[0]) is pays


def test_a_gain_from_simulation_must_reach_the_least_that_is_worth_a_line(priced: Price, rulebook: Rulebook) -> None:
    least = float(rulebook.defaults["least_gain"])
    for point, simulated, pays in ((least, True, True), (0.99 * least, True, False), (0.99 * least, False, True)):
        item = replace(priced("a"), expected=0.01, point=point, simulated=simulated)
        assert bool(hold_back([item], NONE, AT_CHANGE, rulebook, WELL)[0]) is pays


def test_only_tries_of_the_same_tactic_speak_against_it(priced: Price, rulebook: Rulebook) -> None:
    """Eight tries without a gain hold it back; of another tactic, or with a gain, they do not."""
    for point, of, kept in ((0.0, "a", False), (0.0, "b", True), (0.001, "a", True)):
        item = replace(priced("a"), expected=0.01, point=point)
        asked = replace(AT_CHANGE, tries=(Tries("c", 1, 0), Tries(of, 8, 3)))
        assert bool(hold_back([item], NONE, asked, rulebook, WELL)[0]) is kept


def test_a_reminder_needs_no_gain(priced: Price, rulebook: Rulebook) -> None:
    place = rulebook.moments[Moment.CHANGE_OF_ENDS].reminders[0]
    item = replace(priced("a", show=Show.REMINDER, category=place), expected=0.0)
    assert names(hold_back([item], NONE, AT_CHANGE, rulebook, WELL)[0]) == ["a"]


# Conflicts ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("here", "there", "loser"),
    [(0.7, 0.6, "b"), (0.6, 0.7, "a"), (0.6, 0.6, "a")],  # equal: by authority
)
def test_where_the_rule_says_so_the_firmer_belief_wins(priced: Price, here: float, there: float, loser: str) -> None:
    by_belief = Relation(RelationKind.CONFLICTS, "b", "the firmer one", by="belief")
    a = related(replace(priced("a", authority=5), chance=here), by_belief)
    b = replace(priced("b", authority=4), chance=there)
    assert settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1] == [
        HeldBackTactic(loser, HeldBack.CONFLICT, "the firmer one")
    ]


def test_where_the_rule_does_not_say_so_a_firmer_belief_settles_nothing(priced: Price) -> None:
    a = replace(priced("a", conflicts="b", authority=4), chance=0.3)
    b = replace(priced("b", authority=5), chance=0.9)
    assert [h.tactic for h in settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1]] == ["b"]


def test_without_a_word_of_the_rule_the_winner_is_named(priced: Price) -> None:
    plain = related(priced("a"), Relation(RelationKind.OVERRIDES, "b"))
    _, held = settle_conflicts([plain, priced("b")], {"a": 0.0, "b": 0.0})
    assert held == [HeldBackTactic("b", HeldBack.CONFLICT, "gives way to a")]


def test_what_was_set_aside_is_listed_by_id_and_the_rest_keeps_its_order(priced: Price) -> None:
    items = [priced("z", overrides="y"), priced("y"), priced("b", overrides="a"), priced("a"), priced("c")]
    kept, held = settle_conflicts(items, dict.fromkeys("zybac", 0.0))
    assert names(kept) == ["z", "b", "c"]
    assert [h.tactic for h in held] == ["a", "y"]


def test_a_lead_of_just_the_margin_does_not_take_the_first_place(priced: Price) -> None:
    pair = [priced("challenger"), priced("incumbent")]
    worth = {"challenger": Value(0.75, 0.0), "incumbent": Value(0.5, 0.0)}
    assert names(steady(pair, worth, Previous(first="incumbent"), 0.25)) == ["incumbent", "challenger"]


# Order and worth ---------------------------------------------------------------------------------------------------


def test_a_difference_in_the_sixth_digit_ranks_and_one_in_the_seventh_does_not(priced: Price) -> None:
    pair = [priced("a"), priced("b")]
    for more, first in ((0.000001, "b"), (0.0000004, "a")):
        assert names(ranked(pair, {"a": Value(0.01, 0.1), "b": Value(0.01 + more, 0.1)}))[0] == first
        assert names(ranked(pair, {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1 + more)}))[0] == first


def test_of_equals_in_a_family_the_first_id_counts_in_full(priced: Price) -> None:
    pair = [priced("b", family="f"), priced("a", family="f")]
    told = in_families(pair, {name: Value(0.02, 0.01) for name in "ab"}, 0.5)
    assert told == {"a": Value(0.02, 0.01), "b": Value(0.01, 0.005)}


def test_care_of_the_body_and_the_law_are_not_tactical(tactic: MakeTactic, rulebook: Rulebook) -> None:
    assert is_tactical(tactic("a"), rulebook.categories)
    for category in ("physical", "law-and-conduct"):
        assert not is_tactical(tactic("a", category=category, show=Show.FIRST), rulebook.categories)
        assert not is_tactical(tactic("a", category=category, show=Show.REMINDER), rulebook.categories)


def test_what_is_shown_for_its_gain_is_tactical_whatever_its_category(tactic: MakeTactic, rulebook: Rulebook) -> None:
    assert is_tactical(tactic("a", category="physical", show=Show.GAIN), rulebook.categories)


def test_an_authority_of_its_own_makes_no_tactic_care(tactic: MakeTactic, rulebook: Rulebook) -> None:
    assert is_tactical(tactic("a", category="serve", authority=1, show=Show.FIRST), rulebook.categories)


def test_a_limit_of_none_shows_no_tactics_and_lets_the_rest_through(priced: Price, rulebook: Rulebook) -> None:
    items = [priced("a"), *(priced(name, category="physical", show=Show.FIRST) for name in "bcd")]
    assert names(limited(items, 2, rulebook.categories, 0)) == ["b", "c"]
    assert limited(items, 0, rulebook.categories, None) == []


def test_gains_over_the_ceiling_shrink_in_proportion_and_losses_with_them(priced: Price) -> None:
    """0.04 and 0.02 on serve are twice 0.03; on return 0.01 alone is below it, and a loss takes up no room."""
    told = capped([priced("a", 0.04, 0.01), priced("b", 0.02, -0.02)], {"a": 1.0, "b": 1.0}, 0.03)
    assert [item.serve for item in told] == pytest.approx([0.02, 0.01])
    assert [item.return_ for item in told] == pytest.approx([0.01, -0.02])
    assert [item.point for item in told] == pytest.approx([0.015, -0.005])


def test_what_gains_nothing_on_serve_is_left_as_it_is(priced: Price) -> None:
    told = capped([priced("a", 0.0, 0.06), priced("b", -0.01, 0.0)], {"a": 1.0, "b": 1.0}, 0.03)
    assert [(item.serve, item.return_) for item in told] == pytest.approx([(0.0, 0.03), (-0.01, 0.0)])
