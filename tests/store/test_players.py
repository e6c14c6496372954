"""Clubs and players: kept by nickname, changed by version, never with health items."""

from datetime import datetime
from typing import Any

import pytest
from sqlalchemy.exc import StatementError

from tacticapi.club import (
    IdempotencyConflict,
    IdempotentRequest,
    NotFound,
    Refused,
    Services,
    VersionConflict,
    clubs,
    matches,
    players,
)
from tacticapi.store import new_id


def test_a_player_is_found_again_as_created(services: Services, club: str) -> None:
    made = players.create(
        services, club, "opponent", " Sleet ", {"handedness": "left", "age_band": "U14", "height": None}
    )
    assert (made.label, made.version, made.age_band) == ("Sleet", 1, "U14")
    assert made.facts == {"handedness": "left", "age_band": "U14"}
    assert players.get(services, club, made.id) == made
    assert players.find(services, club, side="opponent", label="Sleet") == [made]
    assert players.find(services, club, side="own") == []


def test_a_label_is_taken_on_its_side_only(services: Services, club: str, other_club: str) -> None:
    first = players.create(services, club, "own", "Larch")
    players.create(services, club, "opponent", "Larch")
    players.create(services, other_club, "own", "Larch")
    with pytest.raises(Refused, match="no other player"):
        players.create(services, club, "own", "Larch")
    second = players.create(services, club, "own", "Drizzle")
    with pytest.raises(Refused, match="no other player"):
        players.update(services, club, second.id, 1, label="Larch")
    assert players.update(services, club, first.id, 1, label="Larch").version == 2


def test_a_moment_without_a_time_zone_is_not_kept(services: Services, club: str) -> None:
    made = players.create(services, club, "own", "Larch")
    with (
        services.work(club) as work,
        pytest.raises(StatementError, match="a time without its time zone cannot be stored"),
    ):
        work.players.update(made.id, {"updated_at": datetime(2026, 5, 1, 9)})


def test_only_the_version_that_was_read_can_be_changed(services: Services, club: str) -> None:
    made = players.create(services, club, "own", "Larch", {"volley": 1})
    changed = players.update(services, club, made.id, 1, facts={"volley": 2})
    assert (changed.version, changed.facts) == (2, {"volley": 2})
    with pytest.raises(VersionConflict) as conflict:
        players.update(services, club, made.id, 1, facts={"volley": 4})
    assert conflict.value.version == 2
    assert players.get(services, club, made.id) == changed


@pytest.mark.parametrize("over", [False, True])
def test_a_change_of_a_player_counts_as_a_change_of_the_matches(
    services: Services, club: str, played: Any, over: bool
) -> None:
    if over:
        matches.end(services, club, played.match)
    before = matches.revision(services, club, played.match)
    players.update(services, club, played.opponent, 1, facts={"handedness": "right"})
    assert matches.revision(services, club, played.match) == before + 1


@pytest.mark.parametrize(
    ("side", "facts"),
    [("own", {"pain_now": 2}), ("own", {"pain_site": "knee"}), ("opponent", {"visible_strapping": True})],
)
def test_health_items_are_not_kept_on_a_player(services: Services, club: str, side: str, facts: dict[str, Any]) -> None:
    with pytest.raises(Refused, match="kept during a match only"):
        players.create(services, club, side, "Larch", facts)


@pytest.mark.parametrize("facts", [{"handedness": "north"}, {"nonsense": 1}, {"volley": 9}])
def test_facts_outside_the_vocabulary_are_refused_with_their_place(
    services: Services, club: str, facts: dict[str, Any]
) -> None:
    with pytest.raises(Refused) as refused:
        players.create(services, club, "own", "Larch", facts)
    assert refused.value.faults[0].path == ("own", next(iter(facts)))


@pytest.mark.parametrize("label", ["", "  ", "x" * 101, "a\x00b", "a\nb"])
def test_a_label_is_a_short_printable_text(services: Services, club: str, label: str) -> None:
    with pytest.raises(Refused):
        players.create(services, club, "own", label)


def test_a_repeated_request_makes_one_player(services: Services, club: str) -> None:
    once = IdempotentRequest.of("key-1", ["own", "Larch"])
    made = players.create(services, club, "own", "Larch", once=once)
    assert players.create(services, club, "own", "Larch", once=once) == made
    assert len(players.find(services, club)) == 1
    with pytest.raises(IdempotencyConflict):
        players.create(services, club, "own", "Drizzle", once=IdempotentRequest.of("key-1", ["own", "Drizzle"]))


def test_a_refused_request_does_not_use_up_its_key(services: Services, club: str) -> None:
    players.create(services, club, "own", "Larch")
    once = IdempotentRequest.of("key-1", "same")
    with pytest.raises(Refused):
        players.create(services, club, "own", "Larch", once=once)
    assert players.create(services, club, "own", "Drizzle", once=once).label == "Drizzle"


def test_a_key_of_one_club_is_free_in_another(services: Services, club: str, other_club: str) -> None:
    for place in (club, other_club):
        players.create(services, place, "own", "Larch", once=IdempotentRequest.of("key-1", place))
        assert len(players.find(services, place)) == 1


def test_lists_come_in_pages(services: Services, club: str) -> None:
    made = [players.create(services, club, "own", f"Larch {n}") for n in range(5)]
    first = players.find(services, club, limit=2)
    rest = players.find(services, club, after=first[-1].id)
    assert [*first, *rest] == made


def test_what_is_not_there_is_not_found(services: Services, club: str) -> None:
    for id in (new_id(), "no id", "\x00"):
        with pytest.raises(NotFound):
            players.get(services, club, id)
    with pytest.raises(NotFound):
        clubs.get(services, new_id())
    with pytest.raises(NotFound):
        players.create(services, new_id(), "own", "Larch")


def test_a_club_changes_how_long_it_keeps(services: Services, club: str) -> None:
    changed = clubs.update(services, club, 1, keep_days=None, keep_days_under_18=30)
    assert (changed.keep_days, changed.keep_days_under_18, changed.version) == (None, 30, 2)
    with pytest.raises(VersionConflict):
        clubs.update(services, club, 1, label="Other")
    with pytest.raises(Refused):
        clubs.update(services, club, 2, keep_days=0)
    with pytest.raises(Refused):
        clubs.update(services, club, 2, colour="blue")
    assert [c.club_id for c in clubs.every(services)] == [club]


def test_by_itself_a_club_keeps_juniors_for_a_shorter_time(services: Services, club: str) -> None:
    made = clubs.get(services, club)
    assert made.keep_days is not None
    assert made.keep_days_under_18 is not None
    assert made.keep_days_under_18 < made.keep_days
