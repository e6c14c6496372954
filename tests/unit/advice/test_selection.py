"""What is set aside, by own strokes, counter-indications, the moment, gain and conflicts, and the order of the rest."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from tacticapi.advice.selection import (
    GENERAL,
    Value,
    counter_indication,
    hold_back,
    is_tactical,
    limited,
    ranked,
    settle_conflicts,
    steady,
    unmet_gate,
    weighed,
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
    Touches,
)
from tacticapi.domain.rules import Price as RulePrice
from tacticapi.domain.situation import HeldBack, Moment, Previous, Show, Situation
from tacticapi.rulebook.danger import Health, Pain

Price = Callable[..., Priced]
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


def test_an_explicit_override_wins_whatever_the_two_are_worth(priced):
    assert settled(priced("a", overrides="b"), priced("b"), b=0.9) == (["a"], ["b"])


def test_who_yields_loses_whatever_the_two_are_worth(priced):
    assert settled(priced("a", yields_to="b"), priced("b"), a=0.9) == (["b"], ["a"])


def test_a_conflict_is_settled_by_authority_before_value(priced):
    assert settled(priced("a", conflicts="b", authority=5), priced("b", authority=4), a=0.9) == (["b"], ["a"])


def test_a_conflict_of_equal_authority_is_settled_by_match_gain(priced):
    pair = priced("a", conflicts="b"), priced("b")
    assert settled(*pair, a=0.02, b=0.01) == (["a"], ["b"])
    assert settled(*pair, a=0.01, b=0.02) == (["b"], ["a"])


def test_an_exact_tie_goes_to_the_first_id_whoever_names_the_other(priced):
    assert settled(priced("a", conflicts="b"), priced("b")) == (["a"], ["b"])
    assert settled(priced("b", conflicts="a"), priced("a")) == (["a"], ["b"])


def test_tactics_that_support_each_other_or_name_nobody_stay(priced):
    assert settled(priced("a", supports="b"), priced("b"), priced("c", conflicts="d")) == (["a", "b", "c"], [])


def test_a_tactic_that_was_set_aside_sets_nothing_aside(priced):
    """b beats c and a beats b: with b gone, c stays."""
    items = priced("a", overrides="b"), priced("b", conflicts="c"), priced("c")
    assert settled(*items, b=0.9) == (["a", "c"], ["b"])


def test_overrides_are_settled_before_conflicts(priced):
    """b would win its conflict with a by value, but c overrides b first."""
    items = priced("a", conflicts="b"), priced("b"), priced("c", overrides="b", authority=8)
    assert settled(*items, b=0.9) == (["a", "c"], ["b"])


def test_the_reason_is_how_the_rule_settles_it(priced):
    _, held = settle_conflicts([priced("a", conflicts="b"), priced("b")], {"a": 1.0, "b": 0.0})
    assert held[0].why == "as a says"


def test_the_order_in_which_tactics_fired_settles_nothing(priced):
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
def test_a_stroke_that_is_missing_is_named_with_its_rating(tactic, rulebook, needs, own, words):
    assert unmet_gate(tactic("a", needs=needs), own, rulebook) == words


def test_the_moment_lets_evidence_speak_and_keeps_what_holds_for_everybody_to_its_categories(tactic):
    gain, first, due = (tactic("a", show=show) for show in (Show.GAIN, Show.FIRST, Show.DUE))
    seen, general = (tactic("a", show=Show.REMINDER, order=order) for order in (GENERAL - 1, GENERAL))
    assert wrong_moment(gain, NO_RALLY, RALLY) is wrong_moment(seen, NO_RALLY, RALLY) is None
    assert wrong_moment(general, NO_RALLY, RALLY) == "no reminder on rally is shown at this moment"
    assert wrong_moment(general, SERVE_BREAK, RALLY) is None
    assert wrong_moment(first, SERVE_ONLY, RALLY) is wrong_moment(due, NO_RALLY, RALLY) is None
    assert wrong_moment(due, SERVE_ONLY, RALLY) == "no suggestion on rally is shown at this moment"


def test_between_points_only_the_categories_of_the_moment_speak(tactic):
    assert wrong_moment(tactic("a"), SERVE_ONLY, RALLY) == "no suggestion on rally is shown at this moment"


def test_a_tactic_of_one_moment_is_not_shown_at_another(tactic):
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
def test_what_loads_a_sore_part_of_the_body_is_held_back_and_the_rest_is_not(priced, rulebook, loads, site, part, why):
    sore = Health(pain=Pain(1, (site,), stops=False), sore=(part,))
    kept, held = hold_back([loading(priced("a"), *loads)], Firings({}, {}), CHANGE, rulebook, sore)
    assert [(h.reason, h.why) for h in held] == ([(HeldBack.COUNTER_INDICATION, why)] if why else [])
    assert names(kept) == ([] if why else ["a"])


@pytest.mark.parametrize(
    ("tires", "breathless", "kept"), [(True, True, []), (True, False, ["a"]), (False, True, ["a"])]
)
def test_nobody_short_of_breath_is_worked_harder(priced, rulebook, tires, breathless, kept):
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


def test_own_strokes_are_asked_before_counter_indications_and_these_before_the_moment(priced, rulebook):
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


def test_a_reminder_without_a_place_at_the_moment_is_no_news(priced, rulebook):
    item = priced("a", show=Show.REMINDER, category="positioning", order=GENERAL)
    assert hold_back([item], Firings({}, {}), CHANGE, rulebook, Health()) == ([], [])


@pytest.mark.parametrize(
    ("moment", "pays_in", "kept"),
    [
        (Moment.BEFORE_MATCH, 0.69, False),
        (Moment.AFTER_WARM_UP, 0.69, False),
        (Moment.AFTER_WARM_UP, 0.71, True),
        (Moment.CHANGE_OF_ENDS, 0.61, True),
        (Moment.CHANGE_OF_ENDS, 0.59, False),
    ],
)
def test_a_tactic_speaks_if_it_pays_against_seven_in_ten_at_the_start_and_six_in_ten_later(
    priced, rulebook, moment, pays_in, kept
):
    held = held_reasons(rulebook, priced("a", pays_in=pays_in), Situation(moment))
    assert [reason for reason, _ in held] == ([] if kept else [HeldBack.COUNTER_INDICATION])
    if held:
        assert held[0][1].startswith(f"would pay against {int(10 * pays_in)} in 10 such players")


def test_what_needs_no_gain_is_not_asked_whether_it_pays(priced, rulebook):
    place = rulebook.moments[Moment.CHANGE_OF_ENDS].reminders[0]
    for line in (priced("a", show=Show.REMINDER, category=place), priced("a", show=Show.DUE)):
        assert not held_reasons(rulebook, line, CHANGE)


@pytest.mark.parametrize(("read", "reads"), [(-0.001, 0.49), (0.0, 0.5), (0.001, 0.56)])
def test_what_was_seen_must_speak_for_a_tactic_however_surely_it_pays(priced, rulebook, read, reads):
    """Our own good strokes alone sell no weakness. How far their favourite spot leads is no part of the read."""
    assert held_reasons(rulebook, believed(priced("a", pays_in=0.99, read=read, reads=reads), 1000), CHANGE)
    by_spot = RulePrice(Touches.RETURN, 0.3, spot=0.15, gives={"tell": 0.3})
    assert not held_reasons(rulebook, priced("a", read=read, price=by_spot), CHANGE)


# Order, limits and worth ----------------------------------------------------------------------------------------------


def worth(**match: float) -> dict[str, Value]:
    return {name: Value(value, value / 2) for name, value in match.items()}


def test_safety_and_law_stand_before_what_is_due_this_before_gain_and_gain_before_reminders(priced):
    first = priced("c", show=Show.FIRST, authority=2)
    items = [priced("a", show=Show.REMINDER), priced("b"), priced("d", show=Show.DUE), first]
    assert names(ranked(items, worth(a=0.9, b=0.5, c=0.0, d=0.0), 0.0)) == ["c", "d", "b", "a"]


@pytest.mark.parametrize("show", [Show.FIRST, Show.DUE, Show.REMINDER])
def test_lines_without_a_price_come_in_the_order_of_the_rules(priced, show):
    items = [priced("a", show=show, order=5), priced("c", show=show, order=1), priced("b", show=show, order=1)]
    assert names(ranked(items, worth(a=0.0, b=0.0, c=0.0), 0.0)) == ["b", "c", "a"]


def test_what_presses_stands_before_small_gains_and_after_others(priced):
    lines = [priced(f"order-{n}", show=Show.REMINDER, order=n) for n in (3, 2, 1)]
    values = worth(small=0.01, some=0.02) | {f"order-{n}": Value(0.0, 0.0) for n in (1, 2, 3)}
    items = [*lines, priced("small"), priced("some")]
    assert names(ranked(items, values, some=0.008)) == ["order-1", "some", "order-2", "small", "order-3"]


def test_among_those_shown_first_safety_stands_before_law(priced):
    items = [priced("a", show=Show.FIRST, authority=2), priced("b", show=Show.FIRST, authority=1)]
    assert names(ranked(items, worth(a=0.9, b=0.0), 0.0)) == ["b", "a"]


def test_authority_is_no_ranking_key_among_gains(priced):
    items = [priced("a", authority=1), priced("b", authority=8)]
    assert names(ranked(items, worth(a=0.01, b=0.02), 0.0)) == ["b", "a"]


def test_equal_match_gains_rank_by_points_and_then_by_id(priced):
    items = [priced(name) for name in "dcba"]
    values = {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1), "c": Value(0.01, 0.2), "d": Value(0.0, 0.9)}
    assert names(ranked(items, values, 0.0)) == ["c", "a", "b", "d"]


def test_of_those_that_share_a_read_the_best_counts_in_full_and_the_others_half(priced):
    """a, b and c share one; d stands alone."""
    items = [priced("a"), priced("b"), priced("c"), priced("d")]
    alike = np.zeros((4, 4), dtype=np.bool_)
    alike[:3, :3] = True
    told = weighed(items, worth(a=0.02, b=0.03, c=0.01, d=0.004), alike, 0.5)
    matches = {name: value.match for name, value in told.items()}
    assert matches == {"a": 0.01, "b": 0.03, "c": 0.005, "d": 0.004}
    assert told["a"].point == pytest.approx(0.005)


def test_at_most_so_many_lines_are_shown(priced, rulebook):
    items = [priced(name) for name in "abcd"]
    assert names(limited(items, 2, rulebook.categories, None)) == ["a", "b"]
    assert names(limited(items, 9, rulebook.categories, None)) == ["a", "b", "c", "d"]


def test_a_tactical_limit_lets_care_and_law_through(priced, rulebook):
    care = priced("d", category="physical", show=Show.REMINDER)
    law = priced("e", category="law-and-conduct", show=Show.FIRST)
    items = [priced("a"), priced("b"), priced("c"), care, law]
    assert names(limited(items, 5, rulebook.categories, 2)) == ["a", "b", "d", "e"]


# At the edges ---------------------------------------------------------------------------------------------------------


AT_CHANGE = Situation(Moment.CHANGE_OF_ENDS)
NONE = Firings({}, {})
WELL = Health()


def related(item: Priced, *relations: Relation) -> Priced:
    return replace(item, firing=replace(item.firing, tactic=replace(item.firing.tactic, relations=relations)))


# Own strokes and counter-indications -------------------------------------------------------------------------------


def test_of_counter_indications_the_first_that_holds_is_told(tactic):
    guarded = replace(tactic("a"), unless=tuple(Counter((), why) for why in ("first", "second", "third")))
    assert counter_indication(guarded, Firings({}, {"a": (1, 2)})) == "second"
    assert counter_indication(guarded, Firings({}, {"b": (0,)})) is None
    assert counter_indication(guarded, Firings({}, {"a": ()})) is None


# What is held back -------------------------------------------------------------------------------------------------


def believed(item: Priced, *permille: int) -> Priced:
    facts = tuple(Fact(f"b{n}", FactKind.BELIEF, "weak_low_ball", {"permille": p}) for n, p in enumerate(permille))
    return replace(item, firing=replace(item.firing, facts=facts))


@pytest.mark.parametrize(
    ("read", "permille", "told"),
    [(0.02, (), True), (0.0, (1000,), True), (0.0, (0,), False), (0.0, (1000, 0), False), (0.0, (1000, 1000), True)],
)
def test_nothing_is_told_of_a_tactic_for_which_little_was_seen(priced, rulebook, read, permille, told):
    item = believed(priced("a", pays_in=0.1, read=read), *permille)
    kept, held = hold_back([item], NONE, AT_CHANGE, rulebook, WELL)
    assert (kept, [h.tactic for h in held]) == ([], ["a"] if told else [])


def test_what_an_open_belief_prices_is_told_if_a_firm_one_speaks_for_it(priced, rulebook):
    """The open one may be priced higher; whoever saw the firm one asks why the tactic is missing."""
    item = believed(priced("a", pays_in=0.1, read=0.0), 300)
    firm = believed(item, 900).firing
    held = hold_back([item], Firings({"a": (item.firing, firm)}, {}), AT_CHANGE, rulebook, WELL)[1]
    assert [h.tactic for h in held] == ["a"]


def test_several_tactics_are_kept_or_held_each_for_itself(priced, rulebook):
    little = believed(priced("b", pays_in=0.1, read=0.0), 0)
    lost = priced("c", pays_in=0.55)
    out_of_place = priced("d", show=Show.REMINDER, category="positioning", order=GENERAL)
    items = [priced("a"), little, lost, out_of_place, priced("e")]
    kept, held = hold_back(items, NONE, AT_CHANGE, rulebook, WELL)
    assert names(kept) == ["a", "e"]
    assert [(h.tactic, h.reason) for h in held] == [("c", HeldBack.COUNTER_INDICATION)]


def test_whatever_speaks_against_a_tactic_is_held_under_its_name_with_its_reason(priced, rulebook):
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


# Conflicts ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("here", "there", "loser"),
    [(0.7, 0.6, "b"), (0.6, 0.7, "a"), (0.6, 0.6, "a")],  # equal: by authority
)
def test_where_the_rule_says_so_the_firmer_belief_wins(priced, here, there, loser):
    by_belief = Relation(RelationKind.CONFLICTS, "b", "the firmer one", by="belief")
    a = related(believed(priced("a", authority=5), round(1000 * here)), by_belief)
    b = believed(priced("b", authority=4), round(1000 * there))
    assert settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1] == [
        HeldBackTactic(loser, HeldBack.CONFLICT, "the firmer one")
    ]


def test_where_the_rule_does_not_say_so_a_firmer_belief_settles_nothing(priced):
    a = believed(priced("a", conflicts="b", authority=4), 300)
    b = believed(priced("b", authority=5), 900)
    assert [h.tactic for h in settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1]] == ["b"]


def test_without_a_word_of_the_rule_the_winner_is_named(priced):
    plain = related(priced("a"), Relation(RelationKind.OVERRIDES, "b"))
    _, held = settle_conflicts([plain, priced("b")], {"a": 0.0, "b": 0.0})
    assert held == [HeldBackTactic("b", HeldBack.CONFLICT, "gives way to a")]


def test_what_was_set_aside_is_listed_by_id_and_the_rest_keeps_its_order(priced):
    items = [priced("z", overrides="y"), priced("y"), priced("b", overrides="a"), priced("a"), priced("c")]
    kept, held = settle_conflicts(items, dict.fromkeys("zybac", 0.0))
    assert names(kept) == ["z", "b", "c"]
    assert [h.tactic for h in held] == ["a", "y"]


def test_a_lead_of_just_the_margin_does_not_take_the_first_place(priced):
    pair = [priced("challenger"), priced("incumbent")]
    worth = {"challenger": Value(0.75, 0.0), "incumbent": Value(0.5, 0.0)}
    assert names(steady(pair, worth, Previous(first="incumbent"), 0.25)) == ["incumbent", "challenger"]


# Order and worth ---------------------------------------------------------------------------------------------------


def test_a_difference_in_the_sixth_digit_ranks_and_one_in_the_seventh_does_not(priced):
    pair = [priced("a"), priced("b")]
    for more, first in ((0.000001, "b"), (0.0000004, "a")):
        assert names(ranked(pair, {"a": Value(0.01, 0.1), "b": Value(0.01 + more, 0.1)}, 0.0))[0] == first
        assert names(ranked(pair, {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1 + more)}, 0.0))[0] == first


def test_of_equals_that_share_a_read_the_first_counts_in_full(priced):
    pair = [priced("b"), priced("a")]
    told = weighed(pair, {name: Value(0.02, 0.01) for name in "ab"}, np.ones((2, 2), dtype=np.bool_), 0.5)
    assert told == {"b": Value(0.02, 0.01), "a": Value(0.01, 0.005)}


def test_care_of_the_body_and_the_law_are_not_tactical(tactic, rulebook):
    assert is_tactical(tactic("a"), rulebook.categories)
    for category in ("physical", "law-and-conduct"):
        assert not is_tactical(tactic("a", category=category, show=Show.FIRST), rulebook.categories)
        assert not is_tactical(tactic("a", category=category, show=Show.REMINDER), rulebook.categories)


def test_what_is_shown_for_its_gain_is_tactical_whatever_its_category(tactic, rulebook):
    assert is_tactical(tactic("a", category="physical", show=Show.GAIN), rulebook.categories)


def test_an_authority_of_its_own_makes_no_tactic_care(tactic, rulebook):
    assert is_tactical(tactic("a", category="serve", authority=1, show=Show.FIRST), rulebook.categories)


def test_a_limit_of_none_shows_no_tactics_and_lets_the_rest_through(priced, rulebook):
    items = [priced("a"), *(priced(name, category="physical", show=Show.FIRST) for name in "bcd")]
    assert names(limited(items, 2, rulebook.categories, 0)) == ["b", "c"]
    assert limited(items, 0, rulebook.categories, None) == []
