"""Erasing a player for good, and the sweep of what has been kept long enough."""

from typing import Any

import pytest

from tacticapi.domain.terms import Moment
from tacticapi.service import (
    Desk,
    NotFound,
    Once,
    advising,
    clubs,
    dossier,
    feedback,
    lookups,
    matches,
    observations,
    players,
    points,
    tokens,
    tries,
)
from tacticapi.service.erasure import Erased, erase_player
from tacticapi.service.export import export
from tacticapi.service.policy import KEEP_DAYS, KEEP_DAYS_UNDER_18
from tacticapi.service.retention import Swept, sweep
from tacticapi.store import Feedback

from ..databases import delete_club

ROUND = {"what": "warmup.ran_round_backhand", "count": 3, "of": 6, "note": "Sleet was tired, says Larch", "by": "Larch"}
SERVES = {"what": "record.first_serves_in", "count": 5, "of": 9, "note": "windy"}


@pytest.fixture
def kept(desk: Desk, club: str, played: Any) -> Any:
    """A match with something of both players in it, names in notes included."""
    observations.add_many(desk, club, played.match, [ROUND, SERVES])
    points.add(desk, club, played.match, {"winner": "opponent", "own_error": True})
    tries.add(desk, club, played.match, {"tactic": "swap-serve-spots", "tried": 3, "won": 1})
    advising.live_advice(desk, club, played.match, Moment.CHANGE_OF_ENDS)
    return played


def whole(desk: Desk, club: str) -> str:
    return "".join(export(desk, club))


def test_of_an_erased_opponent_only_what_the_own_player_did_stays(desk: Desk, club: str, kept: Any) -> None:
    assert erase_player(desk, club, kept.opponent) == Erased(matches_deleted=0, matches_kept=1, texts=0)
    with pytest.raises(NotFound):
        players.get(desk, club, kept.opponent)
    match = matches.get(desk, club, kept.match)
    assert (match.own_id, match.opponent_id) == (kept.own, None)
    left = lookups.entries_page(desk, club, kept.match, "observations")
    assert [e.body for e in left] == [{"what": "record.first_serves_in", "count": 5, "of": 9}]
    assert len(lookups.entries_page(desk, club, kept.match, "points")) == 1
    assert len(lookups.entries_page(desk, club, kept.match, "tries")) == 1
    assert "Sleet" not in whole(desk, club)
    assert kept.opponent not in whole(desk, club)
    assert '"kind":"advice"' not in whole(desk, club)


def test_of_an_erased_own_player_what_was_seen_of_the_opponent_stays(desk: Desk, club: str, kept: Any) -> None:
    points.add(desk, club, kept.match, {"winner": "own"})
    erase_player(desk, club, kept.own)
    assert [e.body for e in lookups.entries_page(desk, club, kept.match, "observations")] == [
        {"what": "warmup.ran_round_backhand", "count": 3, "of": 6}
    ]
    scored = [entry.body for entry in lookups.entries_page(desk, club, kept.match, "points")]
    assert scored == [{"winner": "opponent"}, {"winner": "own"}]
    assert lookups.entries_page(desk, club, kept.match, "tries") == []
    assert "Larch" not in whole(desk, club)
    matches.end(desk, club, kept.match)
    taught = dossier.taught(desk, club, kept.opponent).priors["hides_backhand/backhand"]
    assert taught > desk.rulebook.traits["hides_backhand"].prior


def test_feedback_that_went_with_a_player_is_not_answered_for(desk: Desk, club: str, kept: Any) -> None:
    live = advising.live_advice(desk, club, kept.match, Moment.CHANGE_OF_ENDS)
    once = Once.of("bench-7", "used")

    def tell() -> Feedback:
        return feedback.add(desk, club, live.id, live.advice.suggestions[0].tactic, kind="used", once=once)

    assert tell() == tell()
    erase_player(desk, club, kept.opponent)
    with pytest.raises(NotFound, match=f"^no feedback {live.id}$"):
        tell()


def test_with_both_players_the_match_goes(desk: Desk, club: str, kept: Any) -> None:
    erase_player(desk, club, kept.own)
    assert erase_player(desk, club, kept.opponent).matches_deleted == 1
    with pytest.raises(NotFound):
        matches.get(desk, club, kept.match)
    assert whole(desk, club).count("\n") == 3  # the header, the club, the end


def test_a_name_in_the_notes_of_other_matches_goes(desk: Desk, club: str, kept: Any) -> None:
    other = players.create(desk, club, "opponent", "Juniper", {"previous_meeting": "beat Sleet last May"})
    second = matches.create(desk, club, kept.own, other.id)
    observations.add(desk, club, second.id, {**ROUND, "note": "sleet plays like this too", "by": "coach"})
    observations.add(desk, club, second.id, {**ROUND, "note": "sleety weather", "by": "coach"})
    assert erase_player(desk, club, kept.opponent).texts == 2
    assert players.get(desk, club, other.id).facts["previous_meeting"] is None
    first, last = (entry.body for entry in lookups.entries_page(desk, club, second.id, "observations"))
    assert first is not None
    assert last is not None
    assert (first["note"], first["by"], first["count"]) == (None, "coach", 3)
    assert last["note"] == "sleety weather"


def test_whatever_is_polled_changes_with_the_name_that_stood_on_it(desk: Desk, club: str, kept: Any) -> None:
    other = players.create(desk, club, "opponent", "Juniper", {"previous_meeting": "beat Sleet last May"})
    noted, named, told, silent = (matches.create(desk, club, kept.own, other.id).id for _ in range(4))
    friend = players.create(desk, club, "opponent", "Alder", {})
    quiet = matches.create(desk, club, kept.own, friend.id).id
    observations.add(desk, club, noted, {**ROUND, "note": "as Sleet does", "by": "coach"})
    matches.update(desk, club, named, 1, opponent_facts={"previous_meeting": "lost to Sleet"})
    observations.add_many(desk, club, told, [ROUND | {"by": "coach", "note": None}] * 5)
    live = advising.live_advice(desk, club, told, Moment.CHANGE_OF_ENDS)
    shown = live.advice.suggestions[0].tactic
    feedback.add(desk, club, live.id, shown, kind="not-used", reason="that is for Sleet")
    before = {id: matches.get(desk, club, id) for id in (noted, named, told, silent, quiet)}
    erase_player(desk, club, kept.opponent)
    after = {id: matches.get(desk, club, id) for id in before}
    # what is known of the opponent held the name too, and is told of all of that player's matches
    assert all(after[id].revision > before[id].revision for id in (noted, named, told, silent))
    assert (after[quiet].revision, after[quiet].version) == (before[quiet].revision, before[quiet].version)
    assert [after[id].version - before[id].version for id in (noted, named)] == [0, 1]
    assert players.get(desk, club, other.id).version == other.version + 1
    assert advising.live_advice(desk, club, told, Moment.CHANGE_OF_ENDS).id != live.id


def test_a_player_of_another_club_is_not_erased(desk: Desk, club: str, other_club: str, kept: Any) -> None:
    before = whole(desk, club).split("\n", 1)[1]
    with pytest.raises(NotFound):
        erase_player(desk, other_club, kept.own)
    assert whole(desk, club).split("\n", 1)[1] == before


def test_a_deleted_club_leaves_nothing(desk: Desk, club: str, other_club: str, kept: Any) -> None:
    delete_club(desk, club)
    with desk.reading(club) as work:
        for repository in (work.players, work.matches, work.observations, work.points, work.snapshots, work.answers):
            assert repository.find() == []
    assert [one.club_id for one in clubs.every(desk)] == [other_club]


@pytest.fixture
def adults(desk: Desk, club: str, kept: Any) -> Any:
    """The same match of two players who are known to be adults."""
    for id in (kept.own, kept.opponent):
        player = players.get(desk, club, id)
        players.update(desk, club, id, player.version, facts={**player.facts, "age_band": "open"})
    return kept


def test_a_match_goes_after_the_club_s_days_and_not_before(desk: Desk, club: str, adults: Any, clock: Any) -> None:
    matches.end(desk, club, adults.match)
    clock.forward(days=KEEP_DAYS - 1)
    assert sweep(desk) == Swept()
    clock.forward(days=2)
    assert sweep(desk) == Swept(matches=1, players=2)
    assert sweep(desk) == Swept()


@pytest.mark.parametrize("where", ["own_facts", "opponent_facts", "context"])
def test_with_a_junior_in_it_a_match_goes_sooner(desk: Desk, club: str, adults: Any, clock: Any, where: str) -> None:
    matches.update(desk, club, adults.match, 1, **{where: {"age_band": "U14"}})
    matches.end(desk, club, adults.match)
    clock.forward(days=KEEP_DAYS_UNDER_18 + 1)
    assert sweep(desk).matches == 1


@pytest.mark.parametrize("unknown", ["own", "opponent"])
def test_with_a_player_of_unknown_age_a_match_is_kept_as_with_a_minor(
    desk: Desk, club: str, adults: Any, clock: Any, unknown: str
) -> None:
    player = players.get(desk, club, getattr(adults, unknown))
    without = {name: value for name, value in player.facts.items() if name != "age_band"}
    players.update(desk, club, player.id, player.version, facts=without)
    matches.end(desk, club, adults.match)
    clock.forward(days=KEEP_DAYS_UNDER_18 - 1)
    assert sweep(desk) == Swept()
    clock.forward(days=2)
    assert sweep(desk) == Swept(matches=1, players=1)


def test_an_age_that_is_known_in_the_match_alone_counts(desk: Desk, club: str, kept: Any, clock: Any) -> None:
    matches.update(desk, club, kept.match, 1, own_facts={"age_band": "open"}, opponent_facts={"age_band": "50+"})
    matches.end(desk, club, kept.match)
    clock.forward(days=KEEP_DAYS - 1)
    assert sweep(desk).matches == 0
    clock.forward(days=2)
    assert sweep(desk).matches == 1


def test_of_an_anonymous_match_the_age_of_who_is_left_decides(desk: Desk, club: str, adults: Any, clock: Any) -> None:
    erase_player(desk, club, adults.opponent)
    matches.end(desk, club, adults.match)
    clock.forward(days=KEEP_DAYS_UNDER_18 + 1)
    assert sweep(desk) == Swept()


def test_a_club_may_keep_for_good(desk: Desk, club: str, adults: Any, clock: Any) -> None:
    clubs.update(desk, club, 1, keep_days=None)
    matches.end(desk, club, adults.match)
    clock.forward(days=10 * KEEP_DAYS)
    assert sweep(desk) == Swept()


def test_a_forgotten_match_is_ended(desk: Desk, club: str, kept: Any, clock: Any) -> None:
    observations.add(desk, club, kept.match, {"what": "physical.heavy_legs", "seen": True})
    clock.forward(hours=47)
    assert sweep(desk).ended == 0
    clock.forward(hours=2)
    assert sweep(desk).ended == 1
    assert matches.get(desk, club, kept.match).status == "ended"
    assert "physical.heavy_legs" not in str(lookups.entries_page(desk, club, kept.match, "observations"))


def test_a_club_that_cannot_be_swept_is_logged_and_the_others_are(
    desk: Desk, club: str, adults: Any, clock: Any, caplog: pytest.LogCaptureFixture
) -> None:
    other_club = clubs.create(desk, "Heron Weir").club_id
    matches.end(desk, club, adults.match)
    players.create(desk, other_club, "own", "Elm")
    with desk.work(club) as work:
        work.clubs.update(club, {"keep_days": 10**9})  # as an import once let in
        work.commit()
    clock.forward(days=KEEP_DAYS + 1)
    assert sweep(desk) == Swept(players=1, failed=1)
    assert players.find(desk, other_club) == []
    assert len(players.find(desk, club)) == 2
    (line,) = caplog.records
    assert (line.message, line.club_id) == ("a club could not be swept", club)  # type: ignore[attr-defined]
    assert line.exc_info


def test_keys_and_dead_tokens_go_too(desk: Desk, club: str, clock: Any) -> None:
    players.create(desk, club, "own", "Larch", once=Once.of("key-1", 1))
    dead, live = (tokens.create(desk, club, label, ["read"]) for label in ("dead", "live"))
    tokens.revoke(desk, club, dead.token.id)
    clock.forward(days=8)
    assert sweep(desk) == Swept(answers=1)
    clock.forward(days=90)
    assert sweep(desk) == Swept(tokens=1)
    assert [token.id for token in tokens.every(desk, club)] == [live.token.id]


@pytest.mark.parametrize("side", ["own", "opponent"])
def test_a_danger_sign_in_a_running_match_outlives_the_erasing_of_a_player(
    desk: Desk, club: str, kept: Any, side: str
) -> None:
    sign = {"what": "physical.warning_sign", "seen": True}
    observations.add(desk, club, kept.match, {**sign, "note": "holds the chest", "by": "Larch"})
    erase_player(desk, club, getattr(kept, side))
    assert sign in [entry.body for entry in lookups.entries_page(desk, club, kept.match, "observations")]
    advice = advising.live_advice(desk, club, kept.match, Moment.CHANGE_OF_ENDS).advice
    assert (advice.suggestions, [line.alone for line in advice.safety]) == ((), [True])
    matches.end(desk, club, kept.match)
    assert "warning_sign" not in whole(desk, club)
