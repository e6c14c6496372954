"""Erased means erased: whoever reads the files of the database byte by byte finds nothing of who was erased."""

import stat
import unicodedata
import zlib
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from tacticapi.club import advising, clubs, entries, matches, players, retention, scorekeeping
from tacticapi.club.services import IdempotentRequest, Services
from tacticapi.domain.situation import Moment
from tacticapi.store import backup
from tacticapi.store.engine import file_url, is_sqlite

from ..databases import TABLES

NAME, FORMER, SIGN = "Zoë Quillfeather", "Brambleton", "numb left arm and chest pain"
NOW = Moment.CHANGE_OF_ENDS


def spellings(label: str) -> list[str]:
    wide = "".join(chr(ord(one) + 0xFEE0) if "!" <= one <= "~" else one for one in label)
    swaps = (("ë", "e"), ("u", "u\u00ad"), (" ", "\u00a0 "), ("Q", "\u200bQ"))
    typed = (label.replace(*swap) for swap in swaps)
    return [label, label.upper(), unicodedata.normalize("NFD", label), wide, *typed]


def files(services: Services) -> list[Path]:
    there = Path(str(services.engine.url.database))
    return sorted(there.parent.glob(f"{there.name}*"))


def raw(services: Services) -> str:
    """All bytes of the files, what is packed in rows unpacked."""
    # the files of PostgreSQL are not ours: docs/running.md says what stays in them, and until when
    content = b"".join(file.read_bytes() for file in files(services)) if is_sqlite(services.engine) else b""
    with services.engine.connect() as connection:
        for table in TABLES:
            for row in connection.execute(text(f"SELECT * FROM {table}")):
                for cell in row:
                    packed = isinstance(cell, bytes | memoryview)
                    content += zlib.decompress(bytes(cell)) if packed else str(cell).encode()
    return unicodedata.normalize("NFKD", content.decode("utf-8", "replace")).casefold()


@pytest.fixture
def named(services: Services, club: str, played: Any) -> str:
    """An opponent who was renamed, and who is named everywhere where somebody can type."""
    made = IdempotentRequest.of("key-1", {"label": FORMER})
    player = players.create(services, club, "opponent", FORMER, {}, once=made)
    players.update(services, club, player.id, player.version, label=NAME)
    match = matches.create(services, club, played.own, player.id, context={"surface": "clay"}).id
    other = played.match
    for typed in [*spellings(NAME), FORMER, FORMER.lower()]:
        body = {"what": "warmup.ran_round_backhand", "count": 3, "of": 6, "note": f"as {typed} does", "by": typed}
        entries.add_observations(services, club, other, body)
        entries.add_observations(services, club, match, body)
    entries.add_observations(services, club, other, {"what": "pressure.best_spell", "value": f"like {NAME} in May"})
    matches.update(services, club, other, 1, opponent_facts={"previous_meeting": f"lost to {NAME.upper()}"})
    for one in (match, other):
        live = advising.live_advice(services, club, one, NOW)
        reason = f"{FORMER} told us"
        shown = live.advice.suggestions[0].tactic
        advising.add_feedback(services, club, live.id, shown, kind="not-used", reason=reason)
    clubs.create_token(services, club, f"{NAME}'s phone", ["read"])
    clubs.create_token(services, club, "phone of " + FORMER, ["read"])
    return player.id


def found(services: Services, words: list[str]) -> list[str]:
    content = raw(services)
    return [word for word in words if unicodedata.normalize("NFKD", word).casefold() in content]


def test_of_an_erased_player_no_file_holds_the_label_in_any_spelling(services, club, named):
    words = [*spellings(NAME), "quillfeather", FORMER, named]
    assert FORMER in found(services, words)
    assert "quillfeather" in found(services, words)
    retention.erase_player(services, club, named)
    left = found(services, words)
    assert [word for word in left if word != named] == []
    assert {token.label for token in clubs.tokens_of(services, club)} == {"named someone who was erased"}
    if is_sqlite(services.engine):
        wal = [file for file in files(services) if file.name.endswith("-wal")]
        assert [file.stat().st_size for file in wal] == [0] * len(wal)


def test_what_was_asked_is_forgotten_with_a_player_and_a_repeat_is_still_known(services, club, named):
    kept = IdempotentRequest.of("key-2", {"label": "Elm"})
    elm = players.create(services, club, "own", "Elm", {}, once=kept)
    retention.erase_player(services, club, named)
    with services.reading(club) as work:
        assert {answer.request_hash for answer in work.answers.find()} == {""}
    assert players.create(services, club, "own", "Elm", {}, once=kept).id == elm.id


def test_a_short_label_inside_another_word_stays(services, club, played):
    ann = players.create(services, club, "opponent", "Ann", {}).id
    body = {"what": "warmup.ran_round_backhand", "count": 3, "of": 6, "note": "planned it with Anna"}
    entries.add_observations(services, club, played.match, body)
    assert retention.erase_player(services, club, ann).texts == 0


def test_health_items_leave_the_files_with_the_end_of_the_match(services, club, played):
    felt = {"what": "plan.felt", "rating": 1, "note": SIGN}
    entries.add_observations(services, club, played.match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
    live = advising.live_advice(services, club, played.match, NOW)
    shown = live.advice.suggestions[0].tactic
    advising.add_feedback(services, club, live.id, shown, kind="not-used", reason=f"she had a {SIGN}")
    entries.add_observations(services, club, played.match, felt)
    matches.update(services, club, played.match, 1, own_facts={"pain_or_limit": SIGN})
    advising.live_advice(services, club, played.match, NOW)
    assert found(services, [SIGN]) == [SIGN]
    matches.end(services, club, played.match)
    assert found(services, [SIGN, "plan.felt", "pain_or_limit"]) == []
    (line,) = entries.page_of_match(services, club, played.match, "feedback")
    assert line.reason is None


def test_files_are_for_the_user_of_the_service_alone(services, club, tmp_path):
    if not is_sqlite(services.engine):
        assert services.engine.dialect.name == "postgresql"  # whose files are the server's
        return
    copy = tmp_path / "copy.db"
    backup(file_url(str(services.engine.url.database)), copy)
    assert len(files(services)) == 3
    assert {stat.S_IMODE(file.stat().st_mode) for file in [*files(services), copy]} == {0o600}


def test_of_an_erased_player_no_file_holds_the_club_s_own_id(services, club, played):
    own_id, court = "mitglied-4711", "court-2-0900"
    once = IdempotentRequest.of(f"{own_id}/1", {})
    player = players.create(services, club, "opponent", NAME, {}, external_id=own_id, once=once)
    friend = players.create(services, club, "opponent", "Elm", {"previous_meeting": f"as {own_id}"}).id
    theirs = matches.create(services, club, played.own, player.id, external_id=court)
    named = matches.create(services, club, played.own, friend, external_id=f"2026_05_01_{own_id}")
    other = matches.create(services, club, played.own, friend, external_id="court-3-1000")
    for by in (own_id, NAME, "Ann"):
        scorekeeping.add_points(services, club, other.id, {"winner": "own", "by": f"seen by {by}"})
        tried = {"tactic": "swap-serve-spots", "tried": 2, "won": 1, "by": f"told by {by}"}
        scorekeeping.add_tries(services, club, other.id, tried)
    scorekeeping.add_points(services, club, theirs.id, {"winner": "own", "by": "whoever"})
    words = [own_id, "quillfeather", court, "whoever"]
    assert found(services, words) == words
    retention.erase_player(services, club, player.id)
    assert found(services, words) == []
    kept = {one.id: one.external_id for one in matches.find(services, club)}
    assert kept == {played.match: None, theirs.id: None, named.id: None, other.id: "court-3-1000"}
    for noun in ("points", "tries"):
        names = [one.body["by"] for one in entries.page_of_match(services, club, other.id, noun)]
        assert names == [None, None, "seen by Ann" if noun == "points" else "told by Ann"]
    assert players.get(services, club, friend).updated_at > player.updated_at


def test_an_own_id_that_may_be_any_number_is_looked_for_in_no_note(services, club, played):
    player = players.create(services, club, "opponent", NAME, {}, external_id="17").id
    body = {"what": "warmup.ran_round_backhand", "count": 3, "of": 6, "note": "17 of the balls were deep"}
    entries.add_observations(services, club, played.match, body)
    assert retention.erase_player(services, club, player).texts == 0
