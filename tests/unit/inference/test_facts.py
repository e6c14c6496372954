"""From a situation to the facts that rules may ask for: whole numbers, closed words, nothing that a client typed."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import FactKind, Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.inference.circumstances import COMPUTED, View
from tacticapi.inference.danger import sign_circumstance
from tacticapi.inference.facts import FactBuilder, all_conditions
from tacticapi.knowledge import PLAIN_COUNT
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import next_point

Write = Callable[..., Situation]
Build = Callable[..., dict[str, Fact]]


@pytest.fixture(scope="module")
def facts(rulebook: Rulebook, evidence: EvidenceModel, situation: Write) -> Build:
    """The facts of a request, by id."""
    builder = FactBuilder(rulebook)

    def build(importance: float | None = None, **wire: Any) -> dict[str, Fact]:
        asked = situation(**wire)
        state = read_score(Format(), asked.score) if asked.score else None
        told = evidence.believe(asked, state)
        view = View(asked, rulebook.defaults, state, next_point(state) if state else None, importance)
        weighted = [(entry.observation, entry.weight) for entry in told.entries]
        return {fact.id: fact for fact in builder.build(view, told.all, weighted)}

    return build


def shares(facts: dict[str, Fact], what: str) -> list[dict[str, int | str]]:
    return [dict(f.fields) for f in facts.values() if f.name == what and f.kind is FactKind.OBSERVED]


def test_every_fact_is_one_that_some_rule_can_ask_for(facts: Build, rulebook: Rulebook) -> None:
    asked = {(c.kind, c.name) for c in all_conditions(rulebook)}
    own = {"handedness": "left", "volley": 3, "favourite_pattern": "serve wide"}
    seen = [{"what": kind.id, "rating": 2} for kind in rulebook.kinds.values() if kind.id.startswith("rally.against")]
    told = facts(own=own, observations=seen)
    assert told
    assert all((fact.kind, fact.name) in asked for fact in told.values())


def test_numbers_are_whole_and_words_come_from_closed_lists(facts: Build) -> None:
    told = facts(
        own={"handedness": "left", "volley": 2.6, "pain_or_limit": "my knee", "overhead": 1},
        opponent={"handedness": "purple", "height_class": "tall"},
        context={"thunder": False, "surface": "clay"},
        observations=[{"what": "rally.against_low_ball", "wing": "forehand", "count": 1, "of": 3}],
    )
    assert all(type(value) in (int, str) for fact in told.values() for value in fact.fields.values())
    assert told["own:overhead"].fields == {"number": 1}
    assert told["context:thunder"].fields == {"value": "no"}
    assert told["opponent:height_class"].fields == {"value": "tall"}
    assert "opponent:handedness" not in told
    assert not any("knee" in str(fact.fields) for fact in told.values())


def test_a_belief_is_told_in_permille_with_its_wing_and_what_it_rests_on(facts: Build) -> None:
    seen = [
        {"what": "warmup.energy", "value": "normal"},
        {"what": "rally.against_low_ball", "wing": "forehand", "count": 1, "of": 9},
    ]
    told = facts(observations=seen)
    forehand, backhand = (told[f"belief:weak_low_ball:{wing}"] for wing in ("forehand", "backhand"))
    assert forehand.fields["wing"] == "forehand"
    assert forehand.fields["permille"] > 600  # type: ignore[operator]
    assert forehand.observations == (1,)
    assert (backhand.fields["permille"], backhand.observations) == (380, ())
    assert (forehand.fields.get("seen"), backhand.fields.get("seen")) == ("yes", None)


def test_a_count_is_told_for_the_whole_pool_and_for_every_part_that_was_named(facts: Build) -> None:
    seen = [
        {"what": "record.returns_in", "serve": "first", "count": 2, "of": 8},
        {"what": "record.returns_in", "serve": "second", "count": 6, "of": 8},
    ]
    told = {f.get("serve"): f for f in shares(facts(observations=seen), "record.returns_in")}
    assert {where: (f["permille"], f["chances"]) for where, f in told.items()} == {
        None: (500, 16),
        "first": (250, 8),
        "second": (750, 8),
    }
    assert all(f["option"] == PLAIN_COUNT for f in told.values())
    assert len({f["part"] for f in told.values()}) == 2


def test_old_counts_weigh_less_in_the_share_and_count_in_full_as_chances_seen(facts: Build) -> None:
    seen = [
        {"what": "net.brought_in", "count": 0, "of": 6, "set": 1, "game": 3},
        {"what": "net.brought_in", "count": 6, "of": 6, "set": 1, "game": 8},
    ]
    score = {"sets": [], "games": [4, 4], "points": ["0", "0"], "server": "own"}
    (fact,) = shares(facts(observations=seen, score=score), "net.brought_in")
    assert fact["chances"] == 12
    assert fact["permille"] == round(1000 * 6 / (6 + 6 * 0.5))


def test_a_split_is_told_by_option(facts: Build) -> None:
    seen = [{"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 0, "T": 2}}]
    told = {f["option"]: f for f in shares(facts(observations=seen), "serve.ad_court_spots")}
    assert (told["wide"]["permille"], told["wide"]["chances"]) == (750, 8)
    assert (told["body"]["permille"], told["T"]["permille"]) == (0, 250)
    assert (told[PLAIN_COUNT]["chances"], "permille" in told[PLAIN_COUNT]) == (8, False)


def test_ratings_are_averaged_and_told_times_a_hundred(facts: Build) -> None:
    seen = [{"what": "passing.quality", "rating": rating} for rating in (1, 2, 2)]
    (fact,) = shares(facts(observations=seen), "passing.quality")
    assert fact["rating"] == 167


def test_times_add_up_and_other_amounts_are_averaged(facts: Build) -> None:
    seen = [{"what": "conduct.disputed_calls", "amount": n} for n in (1, 2)]
    seen += [{"what": "record.time_between_points", "amount": n} for n in (10, 15)]
    told = facts(observations=seen)
    assert [f["amount"] for f in shares(told, "conduct.disputed_calls")] == [300]
    assert [f["amount"] for f in shares(told, "record.time_between_points")] == [1250]


def test_of_a_word_the_newest_counts(facts: Build) -> None:
    seen = [
        {"what": "serve.second_serve_depth", "value": "deep", "set": 1, "game": 1},
        {"what": "serve.second_serve_depth", "value": "short", "set": 1, "game": 7},
    ]
    score = {"sets": [], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    told = shares(facts(observations=seen, score=score), "serve.second_serve_depth")
    assert [f["value"] for f in told] == ["short"]


def test_a_sign_reported_as_not_seen_is_no_fact(facts: Build) -> None:
    yes, no = (facts(observations=[{"what": "movement.footing", "seen": seen}]) for seen in (True, False))
    assert [f["seen"] for f in shares(yes, "movement.footing")] == ["yes"]
    assert shares(no, "movement.footing") == []


def test_what_was_refused_is_no_fact(facts: Build) -> None:
    seen = [{"what": "record.first_serves_in", "count": 3, "of": 12}]
    calm, windy = (facts(context={"wind": wind}, observations=seen) for wind in ("none", "strong"))
    assert shares(calm, "record.first_serves_in")
    early = facts(moment="after-warm-up", observations=seen)
    assert shares(early, "record.first_serves_in") == []
    assert shares(windy, "record.first_serves_in")  # one's own serves need no end


def test_unseen_is_what_no_observation_names(facts: Build) -> None:
    unseen = {f.name for f in facts().values() if f.kind is FactKind.UNSEEN}
    assert "record.returns_in" in unseen
    told = facts(observations=[{"what": "record.returns_in", "count": 1, "of": 2}])
    assert {f.name for f in told.values() if f.kind is FactKind.UNSEEN} == unseen - {"record.returns_in"}


def test_the_score_is_told_only_when_it_is_known(facts: Build) -> None:
    assert not [f for f in facts().values() if f.kind is FactKind.SCORE]
    score = {"sets": [[6, 4]], "games": [3, 2], "points": ["30", "40"], "server": "opponent"}
    told = {f.name: dict(f.fields) for f in facts(importance=0.604, score=score).values() if f.kind is FactKind.SCORE}
    assert told["serving"] == {"value": "opponent"}
    assert told["court"] == {"value": "ad"}
    assert told["importance"] == {"number": 604}
    assert told["games_completed"] == {"number": 15}
    assert told["set_games"] == {"number": 5}
    assert told["set_number"] == {"number": 2}


def test_tries_are_told_with_their_share(facts: Build) -> None:
    untried = {"tactic": "attack-second-serve", "tried": 0, "won": 0}
    told = facts(tries=[{"tactic": "work-weaker-wing", "tried": 8, "won": 3}, untried])
    tries = [f for f in told.values() if f.kind is FactKind.TRIES]
    assert [dict(f.fields) for f in tries] == [{"tried": 8, "won": 3, "permille": 375}]


def test_every_computed_circumstance_is_named_in_the_rule_files_and_the_other_way_round(rulebook: Rulebook) -> None:
    without_rules = {c.id for c in rulebook.circumstances.values() if not c.when}
    assert without_rules == COMPUTED.keys() | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}
