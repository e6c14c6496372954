"""What is set aside, by own strokes, counter-indications, the moment, gain and conflicts, and the order of the rest."""

from dataclasses import replace

import numpy as np
import pytest

from tacticapi.advice.selection import (
    Value,
    around_plan,
    hold_back,
    limited,
    ranked,
    settle_conflicts,
    steady,
    unmet_gate,
    weighed,
)
from tacticapi.domain.reasoning import Fact, Firings
from tacticapi.domain.rules import Counter, FactKind, Gate, Touches
from tacticapi.domain.rules import Price as RulePrice
from tacticapi.domain.situation import HeldBack, Moment, Previous, Show, Situation
from tacticapi.rulebook.danger import Health, Pain

CHANGE = Situation(Moment.CHANGE_OF_ENDS, own={"volley": 1})
NONE, WELL = Firings({}, {}), Health()
VOLLEY, LOB, EITHER = Gate(("volley",), 2), Gate(("lob",), 2), Gate(("volley", "drop_shot"), 2)


def names(items):
    return [item.firing.tactic.id for item in items]


def worth(**match):
    return {name: Value(value, value / 2) for name, value in match.items()}


def believed(item, *permille):
    facts = tuple(Fact(f"b{n}", FactKind.BELIEF, "weak_low_ball", {"permille": p}) for n, p in enumerate(permille))
    return replace(item, firing=replace(item.firing, facts=facts))


@pytest.fixture(scope="module")
def held(rulebook):
    """What is held back of these, and why, as (id, reason, words)."""

    def ask(*items, at=CHANGE, firings=NONE, health=WELL):
        kept, found = hold_back(list(items), firings, at, rulebook, health, condemned={})
        assert not {*names(kept)} & {h.tactic for h in found}
        return [(h.tactic, h.reason, h.why) for h in found], names(kept)

    return ask


@pytest.mark.parametrize(
    ("tactics", "values", "kept", "aside"),
    [
        # an override wins and who yields loses, whatever the two are worth
        ({"a": {"overrides": "b"}, "b": {}}, {"b": 0.9}, "a", "b"),
        ({"a": {"yields_to": "b"}, "b": {}}, {"a": 0.9}, "b", "a"),
        # authority comes before value, and value before the id
        ({"a": {"conflicts": "b", "authority": 5}, "b": {"authority": 4}}, {"a": 0.9}, "b", "a"),
        ({"a": {"conflicts": "b"}, "b": {}}, {"a": 0.02, "b": 0.01}, "a", "b"),
        ({"a": {"conflicts": "b"}, "b": {}}, {"a": 0.01, "b": 0.02}, "b", "a"),
        ({"a": {"conflicts": "b"}, "b": {}}, {}, "a", "b"),
        ({"b": {"conflicts": "a"}, "a": {}}, {}, "a", "b"),
        # who supports another or names nobody that is there stays
        ({"a": {"supports": "b"}, "b": {}, "c": {"conflicts": "d"}}, {}, "abc", ""),
        # b beats c and a beats b: with b gone, c stays
        ({"a": {"overrides": "b"}, "b": {"conflicts": "c"}, "c": {}}, {"b": 0.9}, "ac", "b"),
        # b would win its conflict with a by value, but c overrides b first
        ({"a": {"conflicts": "b"}, "b": {}, "c": {"overrides": "b", "authority": 8}}, {"b": 0.9}, "ac", "b"),
        # what is set aside is listed by id, and the rest keeps its order
        ({"z": {"overrides": "y"}, "y": {}, "b": {"overrides": "a"}, "a": {}, "c": {}}, {}, "zbc", "ay"),
    ],
)
def test_conflicts_are_settled_by_the_rule_then_authority_then_value_then_id(priced, tactics, values, kept, aside):
    items = [priced(id, **fields) for id, fields in tactics.items()]
    found, held = settle_conflicts(items, dict.fromkeys(tactics, 0.0) | values)
    assert (names(found), [h.tactic for h in held]) == ([*kept], [*aside])
    assert all(h.reason is HeldBack.CONFLICT for h in held)


@pytest.mark.parametrize(
    ("needs", "own", "words"),
    [
        ((), {}, None),
        ((VOLLEY,), {"volley": 2}, None),
        ((VOLLEY,), {"volley": 2.5}, None),
        ((VOLLEY,), {"volley": 1.5}, "needs volley 2 or more; volley is rated 1.5"),
        ((VOLLEY,), {"volley": 0}, "needs volley 2 or more; volley is rated 0"),
        ((VOLLEY,), {"volley": None}, "needs volley 2 or more; your volley is not rated"),
        ((Gate(("overhead",), 2),), {"overhead": 1}, "needs smash 2 or more; smash is rated 1"),
        ((EITHER,), {"drop_shot": 3}, None),
        ((EITHER,), {}, "needs volley or drop shot 2 or more; your volley or drop shot is not rated"),
        ((EITHER,), {"volley": 1, "drop_shot": 0},
         "needs volley or drop shot 2 or more; volley is rated 1 and drop shot is rated 0"),
        ((VOLLEY, LOB), {"volley": 3}, "needs lob 2 or more; your lob is not rated"),
    ],
)  # fmt: skip
def test_a_stroke_that_is_missing_is_named_with_its_rating(tactic, rulebook, needs, own, words):
    assert unmet_gate(tactic("a", needs=needs), own, rulebook) == words


@pytest.mark.parametrize(
    ("loads", "site", "part", "why"),
    [
        (("arm",), "elbow", "arm", "your elbow hurts, and this loads the arm"),
        (("arm", "legs"), "knee", "legs", "your knee hurts, and this loads the legs"),
        (("legs",), "elbow", "arm", None),
        ((), "elbow", "arm", None),
    ],
)
def test_what_loads_a_sore_part_of_the_body_is_held_back_and_the_rest_is_not(priced, held, loads, site, part, why):
    sore = Health(pain=Pain(1, (site,), stops=False), sore=(part,))
    told = [("a", HeldBack.COUNTER_INDICATION, why)] if why else []
    assert held(priced("a", loads=loads), health=sore) == (told, [] if why else ["a"])


@pytest.mark.parametrize(
    ("tires", "breathless", "kept"), [(True, True, []), (True, False, ["a"]), (False, True, ["a"])]
)
def test_nobody_short_of_breath_is_worked_harder(priced, held, tires, breathless, kept):
    told, found = held(priced("a", tires=tires), health=Health(breathless=breathless))
    assert found == kept
    assert [why for *_, why in told] == ([] if kept else ["your opponent is short of breath: do not work them harder"])


def test_own_strokes_are_asked_before_counter_indications_and_these_before_the_moment(priced, held):
    unless = tuple(Counter((), why) for why in ("not this", "they pass well"))
    item = priced("a", needs=(VOLLEY,), unless=unless, moments=(Moment.BEFORE_MATCH, Moment.SET_BREAK))
    against, rated = Firings({}, {"a": (1,)}), replace(CHANGE, own={"volley": 3})
    needs = "needs volley 2 or more; volley is rated 1"
    assert held(item, firings=against)[0] == [("a", HeldBack.OWN_ABILITY, needs)]
    assert held(item, firings=against, at=rated)[0] == [("a", HeldBack.COUNTER_INDICATION, "they pass well")]
    assert held(item, at=rated)[0] == [("a", HeldBack.MOMENT, "belongs to another moment (before-match, set-break)")]


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
    priced, held, moment, pays_in, kept
):
    told, _ = held(priced("a", pays_in=pays_in), at=Situation(moment))
    assert [reason for _, reason, _ in told] == ([] if kept else [HeldBack.COUNTER_INDICATION])
    assert all(why.startswith(f"would pay against {int(10 * pays_in)} in 10 such players") for *_, why in told)


@pytest.mark.parametrize(("read", "reads"), [(-0.001, 0.49), (0.0, 0.5), (0.001, 0.56)])
def test_what_was_seen_must_speak_for_a_tactic_however_surely_it_pays(priced, held, read, reads):
    """Our own good strokes alone sell no weakness. How far their favourite spot leads is no part of the read."""
    assert held(believed(priced("a", pays_in=0.99, read=read, reads=reads), 1000))[0]
    by_spot = RulePrice(Touches.RETURN, 0.3, spot=0.15, gives={"tell": 0.3})
    assert not held(priced("a", read=read, price=by_spot))[0]


@pytest.mark.parametrize(
    ("read", "permille", "told"),
    [(0.02, (), True), (0.0, (1000,), True), (0.0, (0,), False), (0.0, (1000, 0), False), (0.0, (1000, 1000), True)],
)
def test_nothing_is_told_of_a_tactic_for_which_little_was_seen(priced, held, read, permille, told):
    found, kept = held(believed(priced("a", pays_in=0.1, read=read), *permille))
    assert (kept, [id for id, *_ in found]) == ([], ["a"] if told else [])


def test_safety_and_law_stand_before_what_is_due_this_before_gain_and_gain_before_reminders(priced):
    first = priced("c", show=Show.FIRST, authority=2), priced("e", show=Show.FIRST, authority=1)
    items = [priced("a", show=Show.REMINDER), priced("b"), priced("d", show=Show.DUE), *first]
    assert names(ranked(items, worth(a=0.9, b=0.5, c=0.3, d=0.0, e=0.0), 0.0)) == ["e", "c", "d", "b", "a"]


def test_gains_rank_by_the_match_then_by_points_then_by_id_and_never_by_authority(priced):
    items = [priced("d", authority=1), priced("c"), priced("b"), priced("a", authority=8)]
    values = {"a": Value(0.01, 0.1), "b": Value(0.01, 0.1), "c": Value(0.01, 0.2), "d": Value(0.0, 0.9)}
    assert names(ranked(items, values, 0.0)) == ["c", "a", "b", "d"]


def test_of_those_that_share_a_read_the_best_counts_in_full_and_the_others_half(priced):
    """a, b and c share one; d stands alone. Of equals the first counts in full."""
    alike = np.zeros((4, 4), dtype=np.bool_)
    alike[:3, :3] = True
    told = weighed([priced(name) for name in "abcd"], worth(a=0.02, b=0.03, c=0.01, d=0.004), alike, 0.5)
    assert {name: value.match for name, value in told.items()} == {"a": 0.01, "b": 0.03, "c": 0.005, "d": 0.004}
    assert told["a"].point == pytest.approx(0.005)
    equal = weighed([priced("b"), priced("a")], worth(a=0.02, b=0.02), np.ones((2, 2), dtype=np.bool_), 0.5)
    assert equal == {"b": Value(0.02, 0.01), "a": Value(0.01, 0.005)}


def test_a_limit_counts_every_line_and_a_tactical_one_lets_care_and_law_through(priced, rulebook):
    care = (
        priced("d", category="physical", show=Show.REMINDER),
        priced("e", category="law-and-conduct", show=Show.FIRST),
    )
    items = [*(priced(name) for name in "abc"), *care]
    for limit, tactical, shown in ((2, None, "ab"), (9, None, "abcde"), (5, 2, "abde"), (1, 0, "d"), (0, None, "")):
        assert names(limited(items, limit, rulebook.categories, tactical)) == [*shown]


@pytest.mark.parametrize(
    ("challenger", "previous", "first"),
    [
        (0.74, "incumbent", "incumbent"),
        (0.75, "incumbent", "incumbent"),  # just the margin is not enough
        (0.76, "incumbent", "challenger"),
        (0.51, "gone", "challenger"),
        (0.51, "challenger", "challenger"),
        (0.51, "reminder", "challenger"),
        (0.51, None, "challenger"),
    ],
)
def test_the_first_gain_stays_until_another_exceeds_it_by_the_margin(priced, challenger, previous, first):
    """What is shown first stays before it, and reminders after it."""
    lines = priced("law", show=Show.FIRST), priced("reminder", show=Show.REMINDER)
    ordered = [lines[0], priced("challenger"), priced("incumbent"), priced("third"), lines[1]]
    values = worth(law=0.0, challenger=challenger, incumbent=0.5, third=0.1, reminder=0.9)
    second = "incumbent" if first == "challenger" else "challenger"
    held = steady(ordered, values, Previous(first=previous), 0.25)
    assert names(held) == ["law", first, second, "third", "reminder"]
    assert steady(ordered, values, None, 0.25) == ordered


def test_what_worked_stands_before_all_gains_in_its_order(priced):
    lines = [priced("gain"), priced("second"), priced("first")]
    values = worth(gain=0.9, second=0.1, first=0.1)
    assert names(ranked(lines, values, 0.003, ("first", "second"))) == ["first", "second", "gain"]


def test_beside_a_plan_stands_what_exceeds_it_by_the_margin_and_one_reminder(priced):
    reminders = [priced(name, show=Show.REMINDER) for name in ("cheap", "dear")]
    law, plan = priced("law", show=Show.FIRST), priced("plan")
    ordered = [law, priced("far"), priced("near"), plan, *reminders]
    values = worth(law=0.0, far=0.76, near=0.74, plan=0.5, cheap=0.0, dear=0.0)
    assert names(around_plan(ordered, plan, values, 0.25, 1)) == ["law", "plan", "far", "cheap"]
