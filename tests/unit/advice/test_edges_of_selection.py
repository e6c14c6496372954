"""Selection and order at their edges: equal strokes, equal beliefs, nothing to gain, limits just reached."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tacticapi.advice.selection import (
    Value,
    capped,
    counter_indication,
    hold_back,
    in_families,
    is_owned,
    is_tactical,
    limited,
    ranked,
    settle_conflicts,
    steady,
    unmet,
)
from tacticapi.domain.advice import Held
from tacticapi.domain.firing import Fact, Firings, Priced
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Previous, Situation, Tries
from tacticapi.domain.tactic import Counter, FactKind, Gate, Relation, RelationKind, Tactic
from tacticapi.domain.terms import HeldBack, Moment, Show
from tacticapi.inference.danger import Health

Price = Callable[..., Priced]
MakeTactic = Callable[..., Tactic]
CHANGE = Situation(Moment.CHANGE_OF_ENDS)
NONE = Firings({}, {})
WELL = Health()


def names(items: list[Priced]) -> list[str]:
    return [item.firing.tactic.id for item in items]


def related(item: Priced, *relations: Relation) -> Priced:
    return replace(item, firing=replace(item.firing, tactic=replace(item.firing.tactic, relations=relations)))


# Own strokes and counter-indications -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("own", "owned"),
    [({"lob": 2}, True), ({"lob": 2.5}, True), ({"lob": 1.5}, False), ({"lob": "good"}, False), ({"volley": 4}, False)],
)
def test_a_stroke_is_owned_from_the_rating_asked_for_on(own: dict[str, object], owned: bool) -> None:
    assert is_owned(Gate(("lob", "drop_shot"), 2), own) is owned


def test_the_first_stroke_that_is_missing_is_the_one_that_is_told(tactic: MakeTactic) -> None:
    lob, volley = Gate(("lob",), 2), Gate(("volley",), 3)
    gated = tactic("a", needs=(lob, volley))
    assert unmet(gated, {}) == lob
    assert unmet(gated, {"lob": 2}) == volley
    assert unmet(gated, {"lob": 2, "volley": 3}) is None


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
    kept, held = hold_back([item], NONE, CHANGE, rulebook, WELL)
    assert (kept, [h.tactic for h in held]) == ([], ["a"] if told else [])


def test_a_belief_that_just_leans_is_no_longer_open(priced: Price, rulebook: Rulebook) -> None:
    leaning = round(1000 * float(rulebook.defaults["levels"]["leaning"]))
    for permille, told in ((leaning, 1), (leaning - 1, 0)):
        item = believed(replace(priced("a"), expected=-0.01), permille)
        assert len(hold_back([item], NONE, CHANGE, rulebook, WELL)[1]) == told


def test_several_tactics_are_kept_or_held_each_for_itself(priced: Price, rulebook: Rulebook) -> None:
    open_ = believed(replace(priced("b"), expected=-0.01), 0)
    lost = replace(priced("c"), expected=-0.01, chance=0.55)
    out_of_place = priced("d", show=Show.REMINDER, category="positioning")
    items = [priced("a"), open_, lost, out_of_place, priced("e")]
    kept, held = hold_back(items, NONE, CHANGE, rulebook, WELL)
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
    _, held = hold_back([needy, guarded, planned], Firings({}, {"b": (0,)}), CHANGE, rulebook, WELL)
    assert held == [
        Held("a", HeldBack.OWN_ABILITY, "needs lob 2 or more; your lob is not rated"),
        Held("b", HeldBack.COUNTER_INDICATION, "they pass well"),
        Held("c", HeldBack.MOMENT, "belongs to another moment (before-match, set-break)"),
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
    assert bool(hold_back([item], NONE, CHANGE, rulebook, WELL)[0]) is pays


def test_a_gain_from_simulation_must_reach_the_least_that_is_worth_a_line(priced: Price, rulebook: Rulebook) -> None:
    least = float(rulebook.defaults["least_gain"])
    for point, simulated, pays in ((least, True, True), (0.99 * least, True, False), (0.99 * least, False, True)):
        item = replace(priced("a"), expected=0.01, point=point, simulated=simulated)
        assert bool(hold_back([item], NONE, CHANGE, rulebook, WELL)[0]) is pays


def test_only_tries_of_the_same_tactic_speak_against_it(priced: Price, rulebook: Rulebook) -> None:
    """Eight tries without a gain hold it back; of another tactic, or with a gain, they do not."""
    for point, of, kept in ((0.0, "a", False), (0.0, "b", True), (0.001, "a", True)):
        item = replace(priced("a"), expected=0.01, point=point)
        asked = replace(CHANGE, tries=(Tries("c", 1, 0), Tries(of, 8, 3)))
        assert bool(hold_back([item], NONE, asked, rulebook, WELL)[0]) is kept


def test_a_reminder_needs_no_gain(priced: Price, rulebook: Rulebook) -> None:
    place = rulebook.moments[Moment.CHANGE_OF_ENDS].reminders[0]
    item = replace(priced("a", show=Show.REMINDER, category=place), expected=0.0)
    assert names(hold_back([item], NONE, CHANGE, rulebook, WELL)[0]) == ["a"]


# Conflicts ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("here", "there", "loser"),
    [(0.7, 0.6, "b"), (0.6, 0.7, "a"), (0.6, 0.6, "a")],  # equal: by authority
)
def test_where_the_rule_says_so_the_firmer_belief_wins(priced: Price, here: float, there: float, loser: str) -> None:
    by_belief = Relation(RelationKind.CONFLICTS, "b", "the firmer one", by="belief")
    a = related(replace(priced("a", authority=5), chance=here), by_belief)
    b = replace(priced("b", authority=4), chance=there)
    assert settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1] == [Held(loser, HeldBack.CONFLICT, "the firmer one")]


def test_where_the_rule_does_not_say_so_a_firmer_belief_settles_nothing(priced: Price) -> None:
    a = replace(priced("a", conflicts="b", authority=4), chance=0.3)
    b = replace(priced("b", authority=5), chance=0.9)
    assert [h.tactic for h in settle_conflicts([a, b], {"a": 0.0, "b": 0.0})[1]] == ["b"]


def test_without_a_word_of_the_rule_the_winner_is_named(priced: Price) -> None:
    plain = related(priced("a"), Relation(RelationKind.OVERRIDES, "b"))
    _, held = settle_conflicts([plain, priced("b")], {"a": 0.0, "b": 0.0})
    assert held == [Held("b", HeldBack.CONFLICT, "gives way to a")]


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
