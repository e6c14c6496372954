"""The dossier of an opponent over several matches, and what the next match begins with."""

import json
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

import pytest

from tacticapi.club import Services, entries, matches, players, scorekeeping
from tacticapi.club.codec import encode
from tacticapi.club.dossier import MAX_READ, MAX_SEEN, added_up, days_of, dossier, may_be_known, taught
from tacticapi.club.health import health_of
from tacticapi.domain.situation import Earlier, Moment, Observation, Situation, Way
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook.conditions import QUALIFIERS

from .conftest import situation_of

# what is worked out does not depend on the database: one engine is enough
pytestmark = [pytest.mark.usefixtures("url"), pytest.mark.parametrize("url", ["sqlite"], indirect=True, scope="module")]


@pytest.fixture
def finished(
    services: Services, club: str, played: Any, seen: list[dict[str, Any]], finish: Callable[[str], None]
) -> Any:
    """The demo match on hard, seen and won."""
    entries.add_observations(services, club, played.match, seen)
    finish(played.match)
    return played


def believed(evidence: EvidenceModel, earlier: Iterable[Earlier] = ()) -> dict[str, float]:
    """What is believed of an opponent before a match, by belief name."""
    beliefs = evidence.believe(Situation(Moment.BEFORE_MATCH, earlier=tuple(earlier))).all
    return {f"{b.trait}/{b.wing}" if b.wing else b.trait: b.probability for b in beliefs}


def test_it_has_dates_and_surfaces(services, club, finished, another_match):
    other = another_match(context={"surface": "clay"})
    entries.add_observations(services, club, other.match, {"what": "warmup.low_forehand", "rating": 1})
    matches.end(services, club, other.match)
    held = dossier(services, club, finished.opponent, surface="hard")
    assert [(m.match_id, m.earlier.surface) for m in held.matches] == [(other.match, "clay"), (finished.match, "hard")]
    assert held.matches[0].earlier.weight < held.matches[1].earlier.weight
    assert held.beliefs
    day = f"{matches.get(services, club, finished.match).started_at:%Y-%m-%d}: "
    assert any(text.startswith(day) for belief in held.beliefs for text in belief.because)


def test_what_the_next_situation_states_itself_is_no_part_of_it(services, club, finished):
    before, held = taught(services, club, finished.opponent), dossier(services, club, finished.opponent)
    facts = {**players.get(services, club, finished.opponent).facts, "style_guess": "retriever"}
    players.update(services, club, finished.opponent, 1, facts=facts)
    assert taught(services, club, finished.opponent) == before
    assert dossier(services, club, finished.opponent).beliefs != held.beliefs


WORKS, MIXED, REMINDS = "work-weaker-wing", "high-ball-to-high-ball-weakness", "meet-stalling-with-routine-and-rule"


def test_it_begins_with_what_worked_in_earlier_matches(services, club, another_match, clock):
    days = (
        ({WORKS: (12, 9), MIXED: (20, 16)}, {}),
        ({WORKS: (12, 8), MIXED: (16, 2), REMINDS: (12, 11)}, {WORKS, MIXED}),
        ({}, {WORKS}),  # what the newest tries condemn is gone
    )
    for tries, named in days:
        match = another_match()
        held = dossier(services, club, match.opponent)
        assert {one.tactic for one in held.begin_with} == set(named)
        for tactic, (tried, won) in tries.items():
            scorekeeping.add_tries(services, club, match.match, {"tactic": tactic, "tried": tried, "won": won})
        matches.end(services, club, match.match)
        clock.forward(days=7)
    (works,) = held.begin_with
    assert [text[12:38] for text in works.because] == ["8 of 12 points won with it", "9 of 12 points won with it"]
    assert works.because[0][:10] > works.because[1][:10]  # by day, the newest first


def test_only_how_the_opponent_plays_is_ever_known(rulebook):
    known = {kind.id for kind in rulebook.kinds.values() if may_be_known(kind.id, rulebook)}
    subjects = "warmup rally serve return net passing movement pressure tempo quality"
    assert {what.partition(".")[0] for what in known} == {*subjects.split()}
    assert {"serve.deuce_court_spots", "serve.ad_court_spots", "serve.big_point_spots", "warmup.serve_spots"} <= known
    assert not known & (health_of(rulebook).kinds | {"tempo.delay", "tempo.time_between_points"})


def test_a_match_begins_with_playing_facts_and_nothing_else(services, club, played, another_match):
    said = {"note": "Sleet limps", "by": "Coach Alder", "ref": "page-9", "set": 1, "game": 2, "end": "north"}
    for body in (
        {"what": "rally.backhand_errors", "count": 3, "of": 9, **said},
        {"what": "rally.backhand_errors", "count": 2, "of": 5},
        {"what": "serve.deuce_court_spots", "counts": {"wide": 4, "T": 1}, "serve": "first"},
        {"what": "serve.deuce_court_spots", "counts": {"wide": 2, "body": 1}, "serve": "first"},
        {"what": "warmup.high_backhand", "rating": 1, **{k: said[k] for k in ("note", "by", "ref")}},
        {"what": "physical.heavy_legs", "seen": True},
        {"what": "conduct.disputed_calls", "amount": 4},
        {"what": "body_language.posture", "value": "head down"},
        {"what": "tempo.delay", "amount": 3},
        {"what": "record.double_faults", "count": 1, "of": 9},
    ):
        entries.add_observations(services, club, played.match, body)
    matches.end(services, club, played.match)
    held = str((dossier(services, club, played.opponent), taught(services, club, played.opponent)))
    assert not [word for word in ("delays_play", "conduct", "limps", "Alder") if word in held]
    (earlier,) = matches.get(services, club, another_match().match).earlier
    assert earlier["seen"] == [
        {"index": 0, "what": "rally.backhand_errors", "way": "count", "count": 5, "of": 14},
        {"index": 0, "what": "serve.deuce_court_spots", "way": "counts", "counts": {"wide": 6, "T": 1, "body": 1},
         "serve": "first"},
        {"index": 0, "what": "warmup.high_backhand", "way": "rating", "rating": 1},
    ]  # fmt: skip
    assert "Sleet" not in json.dumps(earlier)


def test_ten_long_matches_stay_small(services, club, seen, clock, another_match):
    long = [{**one, "note": "x" * 400, "set": None, "game": None} for one in seen]
    for _ in range(MAX_READ + 2):
        match = another_match()
        entries.add_observations(services, club, match.match, long * 2)  # counted in two games, rated twice
        matches.end(services, club, match.match)
        clock.forward(days=7)
    earlier = matches.get(services, club, another_match().match).earlier
    assert len(earlier) == MAX_READ
    assert [one["day"] for one in earlier] == sorted((one["day"] for one in earlier), reverse=True)
    assert len(json.dumps(earlier)) < 60_000


def test_of_one_match_a_bounded_list_is_kept_counts_first(rulebook):
    graded = [Observation(0, kind, Way.RATING, rating=1) for kind in rulebook.kinds]
    counted = Observation(0, "rally.backhand_errors", Way.COUNT, count=3, of=9)
    kept = added_up([*graded, counted], 4)
    assert len(graded) > MAX_SEEN
    assert (len(kept), kept[0]) == (MAX_SEEN, counted)


def test_the_next_match_begins_with_what_earlier_ones_taught_as_of_its_start(services, club, finished, another_match):
    first = matches.get(services, club, finished.match)
    assert first.earlier == []
    known = taught(services, club, finished.opponent, surface="hard")
    assert [(one.day, one.surface) for one in known] == [(first.started_at.date(), "hard")]
    following = another_match().match
    kept = matches.get(services, club, following).earlier
    assert [{**one, "weight": None} for one in kept] == [{**one, "weight": None} for one in encode(known)]
    other = another_match()
    entries.add_observations(services, club, other.match, {"what": "warmup.low_forehand", "rating": 0})
    matches.end(services, club, other.match)
    assert len(taught(services, club, finished.opponent)) == 2
    assert matches.get(services, club, following).earlier == kept
    assert len(situation_of(services, club, following, Moment.BEFORE_MATCH).earlier) == 1


def test_a_match_made_by_hand_of_many_days_names_a_few():
    days = tuple(Earlier(date(2026, 5, day), "grass" if day == 6 else None) for day in range(6, 0, -1))
    assert days_of(days) == "2026-05-06 on grass, 2026-05-05, 2026-05-04, 2026-05-03 and 2 more"


def test_what_seemed_certain_in_one_match_can_still_be_weighed(services, club, another_match, evidence):
    certain = [
        {"what": kind.id, **said, **{name: QUALIFIERS[name][0] for name in kind.qualifiers}}
        for kind in services.rulebook.kinds.values()
        if kind.subject not in ("context", "own", "opponent")
        for said in ({"count": 10_000, "of": 10_000} if "count" in kind.ways else {"rating": 4},)
        if {"count", "rating"} & set(kind.ways)
    ]
    for bodies in (certain, [{**one, **({"count": 0} if "count" in one else {"rating": 0})} for one in certain]):
        for _ in range(3):
            match = another_match()
            entries.add_observations(services, club, match.match, [body for body in bodies for _ in range(2)])
            matches.end(services, club, match.match)
            assert dossier(services, club, match.opponent).beliefs
            assert all(0 < p < 1 for p in believed(evidence, taught(services, club, match.opponent)).values())
