"""Health items serve the running match only."""

from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.club import Refused, Services, advising, dossier, entries, matches
from tacticapi.club.advising import LEFT_OUT, SAME, StoredAdvice, recorded
from tacticapi.club.debrief import debrief
from tacticapi.club.export import export
from tacticapi.club.health import Health
from tacticapi.club.situations import read_kept, situation_then
from tacticapi.domain.reasoning import belief_name
from tacticapi.domain.situation import Moment

from .conftest import given_again

NOTE = "limping since the second game"
HEALTH = [
    {"what": "physical.recovery_of_breath", "rating": 1, "set": 1, "game": 3, "note": NOTE},
    {"what": "physical.heavy_legs", "seen": True, "note": NOTE},
    {"what": "plan.felt", "rating": 1, "set": 1, "game": 3, "note": NOTE},
    {"what": "plan.felt_nerves", "rating": 1},
]


@pytest.fixture
def ailing(services: Services, club: str, played: Any, seen: list[dict[str, Any]]) -> Any:
    """A match under way in which health items were posted and advised on."""
    entries.add_observations(services, club, played.match, [*seen[:26], *HEALTH])
    own_facts = {"pain_now": 1, "pain_site": "knee", "pain_or_limit": NOTE}
    matches.update(services, club, played.match, 1, own_facts=own_facts, opponent_facts={"visible_strapping": True})
    return played


def kept_text(services: Services, club: str, match: str) -> str:
    with services.reading(club) as work:
        rows = [work.matches.get(match), *work.observations.of_match(match), *work.snapshots.find(match_id=match)]
        rows += [*work.answers.find()]
    return "\n".join(map(str, rows))


def words(services: Services) -> list[str]:
    kinds = Health(services.rulebook).kinds
    named = {"own.pain_now", "own.pain_site", "own.pain_or_limit", "opponent.visible_strapping", "plan.felt"}
    assert named <= kinds
    assert {kind for kind in services.rulebook.kinds if kind.startswith("physical.")} <= kinds
    return [*kinds, "pain", "strapping", NOTE, "breath", "heavy legs"]


def believed(live: StoredAdvice) -> dict[str, float]:
    return {belief_name(one.trait, one.wing): one.probability for one in live.advice.beliefs}


def test_in_the_running_match_they_count_and_with_its_end_they_are_gone_from_all_that_is_kept(services, club, ailing):
    live = advising.live_advice(services, club, ailing.match, Moment.CHANGE_OF_ENDS)
    assert [line.tactic for line in live.advice.safety] == ["spare-a-sore-spot"]
    assert any(part.what.startswith("physical.") for b in live.advice.beliefs for part in b.contributions)
    ended = matches.end(services, club, ailing.match)
    assert (ended.status, ended.own_facts, ended.opponent_facts) == ("ended", {}, {})
    text = kept_text(services, club, ailing.match)
    assert [word for word in words(services) if word in text] == []
    again = given_again(services, club, live.id)
    assert (again.sort, again.told) == (LEFT_OUT, ("health items removed",))
    assert advising.given_advice(services, club, live.id).snapshot.health_removed


def test_what_was_believed_before_may_rest_on_them_and_goes_too(services, club, ailing):
    first = advising.live_advice(services, club, ailing.match, Moment.CHANGE_OF_ENDS)
    entries.add_observations(services, club, ailing.match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
    second = advising.live_advice(services, club, ailing.match, Moment.CHANGE_OF_ENDS)
    matches.end(services, club, ailing.match)
    with services.reading(club) as work:
        kept = read_kept(work, ailing.match)
        given = [recorded(work, one, kept) for one in work.snapshots.find(match_id=ailing.match)]
    told = [situation_then(*one, services.rulebook).previous for one in given]
    assert [second.id != first.id, told[0]] == [True, None]
    assert told[1].advice_id == first.id
    moved = {name for name, chance in believed(first).items() if name not in told[1].beliefs}
    assert moved  # what health items moved is not believed of the advice before either
    assert "fades_physically" in moved


def test_what_did_not_rest_on_them_stays(services, club, played, seen):
    entries.add_observations(services, club, played.match, [*seen[:26], *HEALTH])
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    matches.end(services, club, played.match)
    after = advising.given_advice(services, club, live.id).advice
    assert after.suggestions
    assert all(shown in live.advice.suggestions for shown in after.suggestions)
    assert 0 < len(after.beliefs) < len(live.advice.beliefs)


def test_heat_and_footing_are_no_health_items_of_a_person(services, club, played, seen):
    day = {"heat": "hot", "surface_state": "damp"}
    matches.update(services, club, played.match, 1, context=day)
    entries.add_observations(services, club, played.match, [*seen[:26], *HEALTH])
    live = advising.live_advice(services, club, played.match, Moment.SET_BREAK)
    shown = {one.tactic for one in live.advice.suggestions} & {"heat-precautions", "uneven-or-slippery-court"}
    matches.end(services, club, played.match)
    after = advising.given_advice(services, club, live.id).advice
    assert shown
    assert shown <= {one.tactic for one in after.suggestions}
    assert {line.tactic for line in after.safety} == {"heat-precautions", "uneven-or-slippery-court"}


def test_a_belief_that_a_health_item_can_move_brings_up_nothing_that_is_kept(services, club, played):
    tired = [
        {"what": "movement.drop_by_set", "seen": True, "set": 1, "game": 3},
        {"what": "serve.late_serve_drop", "seen": True, "set": 1, "game": 3},
        {"what": "physical.heavy_legs", "seen": True, "set": 1, "game": 3},
    ]
    matches.update(services, club, played.match, 1, own_facts={"stamina": 3})
    entries.add_observations(services, club, played.match, tired)
    live = advising.live_advice(services, club, played.match, Moment.SET_BREAK)
    matches.end(services, club, played.match)
    after = advising.given_advice(services, club, live.id).advice
    assert "rally-length-by-legs" in {one.tactic for one in live.advice.suggestions}
    assert "rally-length-by-legs" not in {one.tactic for one in after.suggestions}


def test_a_note_that_states_a_danger_sign_goes_and_what_was_counted_beside_it_stays(services, club, played):
    counted = {"what": "rally.forehand_errors", "count": 2, "of": 8}
    noted = [{**counted, "note": "Holm fainted behind the baseline"}, {**counted, "note": "late on the run"}]
    entries.add_observations(services, club, played.match, noted)
    matches.update(services, club, played.match, 1, opponent_facts={"previous_meeting": "had a seizure last year"})
    matches.end(services, club, played.match)
    with services.reading(club) as work:
        kept = [entry.body for entry in work.observations.of_match(played.match)]
        facts = work.matches.get(played.match).opponent_facts
    assert kept == [counted, {**counted, "note": "late on the run"}]
    assert facts == {}


def test_advice_without_health_items_stays_whole(services, club, played, seen):
    entries.add_observations(services, club, played.match, seen[:26])
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    matches.end(services, club, played.match)
    assert advising.given_advice(services, club, live.id).advice == live.advice
    assert given_again(services, club, live.id).sort == SAME


def test_export_debrief_and_dossier_never_hold_them(services, club, ailing):
    advising.live_advice(services, club, ailing.match, Moment.CHANGE_OF_ENDS)
    held = ["".join(export(services, club)), dossier.dossier(services, club, ailing.opponent)]
    matches.end(services, club, ailing.match)
    held += [dossier.dossier(services, club, ailing.opponent), dossier.taught(services, club, ailing.opponent)]
    held += ["".join(export(services, club)), debrief(services, club, ailing.match)]
    for one in map(str, held):
        assert [word for word in words(services) if word in one] == []


def test_advice_that_was_being_made_when_the_match_ended_is_not_kept(services, club, ailing, monkeypatch):
    trace = Adviser.trace

    def end_meanwhile(adviser: Adviser, *asked: Any) -> Any:
        matches.end(services, club, ailing.match)
        return trace(adviser, *asked)

    monkeypatch.setattr(Adviser, "trace", end_meanwhile)
    with pytest.raises(Refused, match="over"):
        advising.live_advice(services, club, ailing.match, Moment.CHANGE_OF_ENDS)
    text = kept_text(services, club, ailing.match)
    assert [word for word in words(services) if word in text] == []
