"""A match that goes on after its end: nothing of health is lost or comes back by it."""

from typing import Any

import pytest

from tacticapi.club import Conflict, advising, entries, export, matches, retention, scorekeeping
from tacticapi.club.clubs import KEEP_DAYS_UNDER_18
from tacticapi.domain.situation import Moment

from .conftest import situation_of


def test_after_an_end_with_nothing_of_health_a_match_may_go_on_and_is_kept_from_its_next_end(
    services, club, played, clock
):
    entries.add_observations(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    ended = matches.end(services, club, played.match)
    clock.forward(days=30)
    again = matches.reopen(services, club, played.match, version=ended.version)
    assert (again.status, again.ended_at, again.version, again.revision) == ("open", None, 3, ended.revision + 1)
    assert matches.reopen(services, club, played.match) == again
    assert situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).observations
    assert retention.sweep(services).ended == 1  # it began more than two days ago
    last = matches.get(services, club, played.match)
    assert last.ended_at > ended.ended_at
    clock.forward(days=KEEP_DAYS_UNDER_18 - 1)
    assert retention.sweep(services).matches == 0
    clock.forward(days=2)
    assert retention.sweep(services).matches == 1


@pytest.mark.parametrize("given", ["fact", "sight", "note", "reason", "name"])
def test_what_stopped_play_is_not_lost_by_ending_and_reopening(services, club, played, given):
    sign = "numb left arm and chest pain"
    if given == "fact":
        matches.update(services, club, played.match, 1, own_facts={"pain_now": 3})
        matches.update(services, club, played.match, 2, own_facts={})  # advice was given on it meanwhile, perhaps
        matches.update(services, club, played.match, 3, own_facts={"pain_now": 1})
    elif given == "sight":
        entries.add_observations(services, club, played.match, {"what": "physical.heavy_legs", "seen": True})
    elif given == "note":
        note = {"what": "warmup.low_forehand", "rating": 1, "note": sign}
        entries.add_observations(services, club, played.match, note)
    elif given == "name":
        scorekeeping.add_points(services, club, played.match, {"winner": "own", "by": sign})
    else:
        entries.add_observations(services, club, played.match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
        live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
        shown = live.advice.suggestions[0].tactic
        advising.add_feedback(services, club, live.id, shown, kind="not-used", reason=sign)
    assert "chest pain" not in "".join(export.export(services, club))
    matches.end(services, club, played.match)
    with pytest.raises(Conflict, match="had no health items to delete") as refused:
        matches.reopen(services, club, played.match)
    assert refused.value.code == "health-removed"
    assert matches.get(services, club, played.match).status == "ended"


def test_an_end_that_broke_off_after_health_items_went_cannot_be_undone_either(services, club, played, monkeypatch):
    entries.add_observations(services, club, played.match, {"what": "physical.heavy_legs", "seen": True})

    def broken(*_: Any) -> None:
        raise OSError("the power went")

    with monkeypatch.context() as patched:
        patched.setattr(matches, "_end_locked", broken)
        with pytest.raises(OSError, match="the power went"):
            matches.end(services, club, played.match)
    assert matches.end(services, club, played.match).reopenable is False
