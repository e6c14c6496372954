"""From a situation to the facts that rules may ask for: whole numbers, closed words, nothing that a client typed."""

from dataclasses import replace

import pytest

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import Condition, FactKind
from tacticapi.domain.situation import Moment, Situation
from tacticapi.rulebook.circumstances import COMPUTED, View
from tacticapi.rulebook.conditions import PLAIN_COUNT, part_name
from tacticapi.rulebook.danger import sign_circumstance
from tacticapi.rulebook.facts import FactBuilder
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import next_point

from ...builders import scored, tally


@pytest.fixture(scope="module")
def facts(rulebook, evidence, situation):
    builder = FactBuilder(rulebook)

    def build(importance=None, **wire):
        asked = situation(**wire)
        state = read_score(Format(), asked.score) if asked.score else None
        told = evidence.believe(asked)
        view = View(asked, rulebook.defaults, state, next_point(state) if state else None, importance)
        now = [entry.observation for entry in told.entries if entry.current]
        return {fact.id: fact for fact in builder.build(view, told.all, now)}

    return build


def shares(facts, what):
    return [dict(f.fields) for f in facts.values() if f.name == what and f.kind is FactKind.OBSERVED]


def test_numbers_are_whole_and_words_come_from_closed_lists(facts, rulebook):
    told = facts(
        own={"handedness": "left", "volley": 2, "pain_or_limit": "my knee"},
        opponent={"height_class": "tall"},
        observations=[tally("rally.against_low_ball", 1, 3, wing="forehand")],
    )
    assert all(type(value) in (int, str) for fact in told.values() for value in fact.fields.values())
    assert told["opponent:height_class"].fields == {"value": "tall"}
    assert not any("knee" in str(fact.fields) for fact in told.values())
    view = View(Situation(Moment.SET_BREAK, opponent={"handedness": "purple"}), rulebook.defaults)  # of earlier rules
    assert FactKind.OPPONENT not in {one.kind for one in FactBuilder(rulebook).build(view, (), ())}


def test_what_speaks_against_a_trait_is_not_told_as_seen_for_it(facts):
    told = facts(observations=[tally("rally.against_low_ball", 9, 9, wing="forehand")])
    assert told["belief:weak_low_ball:forehand"].observations == (0,)
    assert "seen" not in told["belief:weak_low_ball:forehand"].fields


def test_counts_of_a_habit_before_a_change_of_play_are_no_fact_of_now(facts):
    what = "rally.ran_round_backhand"
    early, late = (tally(what, n, 6, set=1, game=game) for n, game in ((0, 3), (6, 8)))
    changed = {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 7}
    for seen, now in (([early, late, changed], [(6, 1000)]), ([early, changed], []), ([early, late], [(12, 500)])):
        assert [(f["chances"], f["permille"]) for f in shares(facts(observations=seen), what)] == now


def test_what_was_refused_is_no_fact(facts):
    seen = [tally("record.first_serves_in", 3, 12)]
    calm, windy = (facts(context={"wind": wind}, observations=seen) for wind in ("none", "strong"))
    assert shares(calm, "record.first_serves_in")
    early = facts(moment="after-warm-up", observations=seen)
    assert shares(early, "record.first_serves_in") == []
    assert shares(windy, "record.first_serves_in")  # one's own serves need no end


def test_every_computed_circumstance_is_named_in_the_rule_files_and_the_other_way_round(rulebook):
    without_rules = {c.id for c in rulebook.circumstances.values() if not c.when}
    assert without_rules == COMPUTED.keys() | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}


WHOLE = part_name(())


@pytest.fixture
def build(rulebook, make_tactic, situation):
    """The facts of a situation where one tactic asks for these (kind, name) pairs."""

    def ask(*asked, beliefs=(), importance=None, **wire):
        tactic = make_tactic("t", tuple(Condition(*one) for one in asked))
        book = replace(rulebook, tactics={"t": tactic}, circumstances={})
        of = situation(**wire)
        state = read_score(Format.from_wire(of.context.get("format")), of.score) if of.score else None
        view = View(of, book.defaults, state, next_point(state) if state else None, importance)
        return FactBuilder(book).build(view, beliefs, of.observations)

    return ask


def test_a_count_is_told_whole_and_by_each_combination_of_what_was_named(build):
    what = "return.return_swing"
    seen = [
        {"what": what, "counts": {"drive": 3, "block": 1}, "wing": "forehand", "serve": "first"},
        {"what": what, "counts": {"drive": 1, "chip": 3}, "wing": "backhand"},
        {"what": what, "counts": {"drive": 2}, "serve": "first"},
    ]
    facts = build((FactKind.OBSERVED, what), observations=seen)
    told = {fact.id.removeprefix(f"observed:{what}:"): fact for fact in facts}
    whole = {"permille": 600, "chances": 10, "option": "drive", "part": WHOLE}  # 6 of 10
    assert told["drive"] == Fact(f"observed:{what}:drive", FactKind.OBSERVED, what, whole, (0, 1, 2))
    first = {**whole, "permille": 833, "chances": 6, "serve": "first", "part": part_name(("serve",))}  # 5 of 6
    assert (told["first:drive"].fields, told["first:drive"].observations) == (first, (0, 2))
    both = {"permille": 250, "wing": "forehand", "serve": "first", "part": part_name(("wing", "serve"))}
    assert both.items() <= told["forehand:first:block"].fields.items()
    assert told["forehand:first:block"].observations == (0,)
    assert told["backhand:chip"].fields["permille"] == 750
    assert told["count"].fields == {"chances": 10, "option": PLAIN_COUNT, "part": WHOLE}
    assert "backhand:first:chip" not in told


def test_a_plain_count_of_two_options_is_told_by_option_too(build):
    """Three of four across, and a split of one and one: four of six."""
    what = "net.smash_direction"
    seen = [tally(what, 3, 4), {"what": what, "counts": {"across": 1, "other": 1}}]
    told = {f.id: dict(f.fields) for f in build((FactKind.OBSERVED, what), observations=seen)}
    assert told == {
        f"observed:{what}:count": {"permille": 750, "chances": 6, "option": PLAIN_COUNT, "part": WHOLE},
        f"observed:{what}:across": {"permille": 667, "chances": 6, "option": "across", "part": WHOLE},
        f"observed:{what}:other": {"permille": 333, "chances": 6, "option": "other", "part": WHOLE},
    }


def test_nothing_counted_is_no_fact(build):
    for what, said in (("net.brought_in", {"count": 0, "of": 0}), ("serve.ad_court_spots", {"counts": {"wide": 0}})):
        assert build((FactKind.OBSERVED, what), observations=[{"what": what, **said}]) == ()


def test_grades_are_averaged_and_times_add_up(build):
    """In hundredths: ratings of 1, 2 and 2 are 1.67 on average, amounts of 10 and 15 are 12.5."""
    grades = {"passing.quality": (1, 2, 2), "record.time_between_points": (10, 15), "conduct.disputed_calls": (1, 2)}
    ways = dict(zip(grades, ("rating", "amount", "amount"), strict=True))
    seen = [{"what": what, ways[what]: n} for what, found in grades.items() for n in found]
    told = {fact.name: fact for fact in build(*((FactKind.OBSERVED, what) for what in grades), observations=seen)}
    assert [told[what].fields[ways[what]] for what in grades] == [167, 1250, 300]
    rating, what = {"rating": 167, "part": WHOLE}, "passing.quality"
    assert told[what] == Fact(f"observed:{what}:rating", FactKind.OBSERVED, what, rating, (0, 1, 2))


def test_a_computed_circumstance_rests_on_what_it_reads(build):
    seen = [tally("net.brought_in", 1, 2), {"what": "record.last_points", "value": "WLLLLL"}]
    name = "points-lost-in-row"
    told = build((FactKind.CIRCUMSTANCE, name), observations=seen)
    assert told == (Fact(f"circumstance:{name}", FactKind.CIRCUMSTANCE, name, {}, (1,)),)


def test_the_score_is_told_in_words_and_whole_numbers(build):
    values = {
        "games_completed": 16, "set_games": 6, "games_ahead": -2, "sets_ahead": 1, "breaks_ahead": -1, "set_number": 2,
        "serving": "own", "court": "ad", "importance": 314,
    }  # fmt: skip
    asked = [(FactKind.SCORE, name) for name in (*values, "tie_break")]
    score = scored("2-4", "6-4", "0-15")
    told = {f.name: f for f in build(*asked, score=score, importance=0.3136)}
    assert {name: next(iter(fact.fields.values())) for name, fact in told.items()} == values
    assert told["serving"] == Fact("score:serving", FactKind.SCORE, "serving", {"value": "own"})
    assert told["set_games"].fields == {"number": 6}
    (tie_break,) = build(asked[-1], score={"sets": [], "games": [6, 6], "points": ["0", "0"]})
    assert tie_break.fields == {"value": "yes"}
    assert build(*asked) == ()


def test_tries_are_told_by_tactic(build):
    u, t, v = "work-weaker-wing", "swap-serve-spots", "attack-second-serve"
    tries = [{"tactic": name, "tried": tried, "won": won} for name, tried, won in ((u, 3, 1), (t, 0, 0), (v, 1, 1))]
    told = build((FactKind.TRIES, u), (FactKind.TRIES, t), tries=tries)
    assert told == (Fact(f"tries:{u}", FactKind.TRIES, u, {"tried": 3, "won": 1, "permille": 333}),)
