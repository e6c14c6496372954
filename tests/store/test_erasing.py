"""Erasing a player for good, and the sweep of what has been kept long enough."""

from typing import Any

import pytest

from tacticapi.club import advising, clubs, dossier, entries, matches, players, scorekeeping
from tacticapi.club.clubs import KEEP_DAYS, KEEP_DAYS_UNDER_18
from tacticapi.club.export import export
from tacticapi.club.retention import ErasureResult, SweepResult, erase_player, sweep
from tacticapi.club.services import IdempotentRequest, NotFound, Services
from tacticapi.domain.situation import Moment
from tacticapi.store import Feedback

from ..databases import delete_club

ROUND = {"what": "warmup.ran_round_backhand", "count": 3, "of": 6, "note": "Sleet was tired, says Larch", "by": "Larch"}
SERVES = {"what": "record.first_serves_in", "count": 5, "of": 9, "note": "windy"}


@pytest.fixture
def kept(services: Services, club: str, played: Any) -> Any:
    """A match with something of both players in it, names in notes included."""
    entries.add_observations(services, club, played.match, [ROUND, SERVES])
    scorekeeping.add_points(services, club, played.match, {"winner": "opponent", "own_error": True})
    scorekeeping.add_tries(services, club, played.match, {"tactic": "swap-serve-spots", "tried": 3, "won": 1})
    advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    return played


def whole(services: Services, club: str) -> str:
    return "".join(export(services, club))


def test_of_an_erased_opponent_only_what_the_own_player_did_stays(services, club, kept):
    assert erase_player(services, club, kept.opponent) == ErasureResult(matches_deleted=0, matches_kept=1, texts=0)
    with pytest.raises(NotFound):
        players.get(services, club, kept.opponent)
    match = matches.get(services, club, kept.match)
    assert (match.own_id, match.opponent_id) == (kept.own, None)
    left = entries.page_of_match(services, club, kept.match, "observations")
    assert [e.body for e in left] == [{"what": "record.first_serves_in", "count": 5, "of": 9}]
    assert len(entries.page_of_match(services, club, kept.match, "points")) == 1
    assert len(entries.page_of_match(services, club, kept.match, "tries")) == 1
    assert "Sleet" not in whole(services, club)
    assert kept.opponent not in whole(services, club)
    assert '"kind":"advice"' not in whole(services, club)


def test_of_an_erased_own_player_what_was_seen_of_the_opponent_stays(services, club, kept):
    scorekeeping.add_points(services, club, kept.match, {"winner": "own"})
    erase_player(services, club, kept.own)
    assert [e.body for e in entries.page_of_match(services, club, kept.match, "observations")] == [
        {"what": "warmup.ran_round_backhand", "count": 3, "of": 6}
    ]
    scored = [entry.body for entry in entries.page_of_match(services, club, kept.match, "points")]
    assert scored == [{"winner": "opponent"}, {"winner": "own"}]
    assert entries.page_of_match(services, club, kept.match, "tries") == []
    assert "Larch" not in whole(services, club)
    matches.end(services, club, kept.match)
    (earlier,) = dossier.taught(services, club, kept.opponent)
    assert [(one.what, one.count, one.of) for one in earlier.seen] == [("warmup.ran_round_backhand", 3, 6)]


def test_of_an_erased_opponent_nothing_stays_in_later_matches(services, club, kept):
    entries.add_observations(services, club, kept.match, {**ROUND, "note": "Sleet again", "by": "Sleet"})
    matches.end(services, club, kept.match)
    other = players.create(services, club, "opponent", "Juniper", {})
    with_them, without = (matches.create(services, club, kept.own, id) for id in (kept.opponent, other.id))
    (earlier,) = with_them.earlier
    assert earlier["seen"]
    assert "Sleet" not in str(earlier)
    assert without.earlier == []
    advising.live_advice(services, club, with_them.id, Moment.BEFORE_MATCH)
    erase_player(services, club, kept.opponent)
    assert [match.earlier for match in matches.find(services, club)] == [[], [], []]
    assert "ran_round_backhand" not in whole(services, club)


def test_feedback_that_went_with_a_player_is_not_answered_for(services, club, kept):
    live = advising.live_advice(services, club, kept.match, Moment.CHANGE_OF_ENDS)
    once = IdempotentRequest.of("bench-7", "used")

    def tell() -> Feedback:
        return advising.add_feedback(services, club, live.id, live.advice.suggestions[0].tactic, kind="used", once=once)

    assert tell() == tell()
    erase_player(services, club, kept.opponent)
    with pytest.raises(NotFound, match=f"^no feedback {live.id}$"):
        tell()


def test_with_both_players_the_match_goes(services, club, kept):
    erase_player(services, club, kept.own)
    assert erase_player(services, club, kept.opponent).matches_deleted == 1
    with pytest.raises(NotFound):
        matches.get(services, club, kept.match)
    assert whole(services, club).count("\n") == 3  # the header, the club, the end


def test_a_name_in_the_notes_of_other_matches_goes(services, club, kept):
    other = players.create(services, club, "opponent", "Juniper", {"previous_meeting": "beat Sleet last May"})
    second = matches.create(services, club, kept.own, other.id).id
    notes = ("sleet plays like this too", "sleety weather")
    entries.add_observations(services, club, second, [{**ROUND, "note": note, "by": "coach"} for note in notes])
    assert erase_player(services, club, kept.opponent).texts == 2
    assert players.get(services, club, other.id).facts["previous_meeting"] is None
    first, last = (entry.body for entry in entries.page_of_match(services, club, second, "observations"))
    assert (first["note"], first["by"], first["count"]) == (None, "coach", 3)
    assert last["note"] == "sleety weather"


def test_whatever_is_polled_changes_with_the_name_that_stood_on_it(services, club, kept):
    other = players.create(services, club, "opponent", "Juniper", {"previous_meeting": "beat Sleet last May"})
    noted, named, told, silent = (matches.create(services, club, kept.own, other.id).id for _ in range(4))
    friend = players.create(services, club, "opponent", "Alder", {})
    quiet = matches.create(services, club, kept.own, friend.id).id
    entries.add_observations(services, club, noted, {**ROUND, "note": "as Sleet does", "by": "coach"})
    matches.update(services, club, named, 1, opponent_facts={"previous_meeting": "lost to Sleet"})
    entries.add_observations(services, club, told, [ROUND | {"by": "coach", "note": None}] * 5)
    live = advising.live_advice(services, club, told, Moment.CHANGE_OF_ENDS)
    shown = live.advice.suggestions[0].tactic
    advising.add_feedback(services, club, live.id, shown, kind="not-used", reason="that is for Sleet")
    before = {id: matches.get(services, club, id) for id in (noted, named, told, silent, quiet)}
    erase_player(services, club, kept.opponent)
    after = {id: matches.get(services, club, id) for id in before}
    # what is known of the opponent held the name too, and is told of all of that player's matches
    assert all(after[id].revision > before[id].revision for id in (noted, named, told, silent))
    assert (after[quiet].revision, after[quiet].version) == (before[quiet].revision, before[quiet].version)
    assert [after[id].version - before[id].version for id in (noted, named)] == [0, 1]
    assert players.get(services, club, other.id).version == other.version + 1
    assert advising.live_advice(services, club, told, Moment.CHANGE_OF_ENDS).id != live.id


def test_a_deleted_club_leaves_nothing(services, club, other_club, kept):
    delete_club(services, club)
    with services.reading(club) as work:
        for repository in (work.players, work.matches, work.observations, work.points, work.snapshots, work.answers):
            assert repository.find() == []
    assert [one.club_id for one in clubs.every(services)] == [other_club]


@pytest.fixture
def adults(services: Services, club: str, kept: Any) -> Any:
    """The same match of two players who are known to be adults."""
    for id in (kept.own, kept.opponent):
        player = players.get(services, club, id)
        players.update(services, club, id, player.version, facts={**player.facts, "age_band": "open"})
    return kept


def junior(where: str) -> Any:
    facts = {where: {"age_band": "U14"}}
    return lambda services, club, match: matches.update(services, club, match.match, 1, **facts)


SOON = KEEP_DAYS_UNDER_18 + 1
SWEPT = {  # what is done with a match of adults, after how many days is swept, how many matches go
    **{f"a junior in its {where}": (junior(where), SOON, 1) for where in ("own_facts", "opponent_facts", "context")},
    "one of them erased": (lambda services, club, match: erase_player(services, club, match.opponent), SOON, 0),
    "kept for good": (lambda services, club, match: clubs.update(services, club, 1, keep_days=None), 10 * KEEP_DAYS, 0),
}


@pytest.mark.parametrize("what", SWEPT)
def test_a_match_is_kept_by_the_ages_in_it_and_by_its_club(services, club, adults, clock, what):
    do, days, gone = SWEPT[what]
    do(services, club, adults)
    matches.end(services, club, adults.match)
    clock.forward(days=days)
    assert sweep(services).matches == gone


@pytest.mark.parametrize("known", ["own", "opponent", "both", "in the match alone"])
def test_with_a_player_of_unknown_age_a_match_is_kept_as_with_a_minor(services, club, kept, clock, known):
    for side in ("own", "opponent"):
        if known in (side, "both"):
            player = players.get(services, club, getattr(kept, side))
            players.update(services, club, player.id, player.version, facts={**player.facts, "age_band": "open"})
    if known == "in the match alone":
        bands = {"own_facts": {"age_band": "open"}, "opponent_facts": {"age_band": "50+"}}
        matches.update(services, club, kept.match, 1, **bands)
    matches.end(services, club, kept.match)
    clock.forward(days=(KEEP_DAYS_UNDER_18 if known in ("own", "opponent") else KEEP_DAYS) - 1)
    assert sweep(services).matches == 0
    clock.forward(days=2)
    assert sweep(services).matches == 1
    assert sweep(services).matches == 0


def test_a_forgotten_match_is_ended(services, club, kept, clock):
    entries.add_observations(services, club, kept.match, {"what": "physical.heavy_legs", "seen": True})
    clock.forward(hours=47)
    assert sweep(services).ended == 0
    clock.forward(hours=2)
    assert sweep(services).ended == 1
    assert matches.get(services, club, kept.match).status == "ended"
    assert "physical.heavy_legs" not in str(entries.page_of_match(services, club, kept.match, "observations"))


def test_a_club_that_cannot_be_swept_is_logged_and_the_others_are(services, club, adults, clock, caplog):
    other_club = clubs.create(services, "Heron Weir").club_id
    matches.end(services, club, adults.match)
    players.create(services, other_club, "own", "Elm")
    with services.work(club) as work:
        work.clubs.update(club, {"keep_days": 10**9})  # as an import once let in
    clock.forward(days=KEEP_DAYS + 1)
    assert sweep(services) == SweepResult(players=1, failed=1)
    assert players.find(services, other_club) == []
    assert len(players.find(services, club)) == 2
    (line,) = caplog.records
    assert (line.message, line.club_id) == ("a club could not be swept", club)
    assert line.exc_info


def test_keys_and_dead_tokens_go_too(services, club, clock):
    players.create(services, club, "own", "Larch", once=IdempotentRequest.of("key-1", 1))
    dead, live = (clubs.create_token(services, club, label, ["read"]) for label in ("dead", "live"))
    clubs.revoke_token(services, club, dead.token.id)
    clock.forward(days=8)
    assert sweep(services) == SweepResult(answers=1)
    clock.forward(days=90)
    assert sweep(services) == SweepResult(tokens=1)
    assert [token.id for token in clubs.tokens_of(services, club)] == [live.token.id]


@pytest.mark.parametrize("side", ["own", "opponent"])
def test_a_danger_sign_in_a_running_match_outlives_the_erasing_of_a_player(services, club, kept, side):
    sign = {"what": "physical.warning_sign", "seen": True}
    entries.add_observations(services, club, kept.match, {**sign, "note": "holds the chest", "by": "Larch"})
    erase_player(services, club, getattr(kept, side))
    assert sign in [entry.body for entry in entries.page_of_match(services, club, kept.match, "observations")]
    advice = advising.live_advice(services, club, kept.match, Moment.CHANGE_OF_ENDS).advice
    assert (advice.suggestions, [line.alone for line in advice.safety]) == ((), [True])
    matches.end(services, club, kept.match)
    assert "warning_sign" not in whole(services, club)
