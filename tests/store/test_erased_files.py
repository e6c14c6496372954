"""Erased means erased: whoever reads the files of the database byte by byte finds nothing of who was erased."""

import stat
import unicodedata
import zlib
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from tacticapi.club import IdempotentRequest, Services, advising, clubs, entries, matches, players, retention
from tacticapi.domain.situation import Moment
from tacticapi.store import backup
from tacticapi.store.engine import file_url, is_sqlite

from ..databases import TABLES

NAME, FORMER, SIGN = "Zoë Quillfeather", "Brambleton", "numb left arm and chest pain"
NOW = Moment.CHANGE_OF_ENDS


def spellings(label: str) -> list[str]:
    """The ways in which a label may have been typed."""
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
        entries.add_observation(services, club, other, body)
        entries.add_observation(services, club, match, body)
    entries.add_observation(services, club, other, {"what": "pressure.best_spell", "value": f"like {NAME} in May"})
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
    entries.add_observation(services, club, played.match, body)
    assert retention.erase_player(services, club, ann).texts == 0


def test_health_items_leave_the_files_with_the_end_of_the_match(services, club, played):
    felt = {"what": "plan.felt", "rating": 1, "note": SIGN}
    entries.add_observation(services, club, played.match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
    live = advising.live_advice(services, club, played.match, NOW)
    shown = live.advice.suggestions[0].tactic
    advising.add_feedback(services, club, live.id, shown, kind="not-used", reason=f"she had a {SIGN}")
    entries.add_observation(services, club, played.match, felt)
    matches.update(services, club, played.match, 1, own_facts={"pain_or_limit": SIGN})
    advising.live_advice(services, club, played.match, NOW)
    assert found(services, [SIGN]) == [SIGN]
    matches.end(services, club, played.match)
    assert found(services, [SIGN, "plan.felt", "pain_or_limit"]) == []
    (line,) = advising.feedback_page(services, club, played.match, after=None, limit=9)
    assert line.reason is None


def test_files_are_for_the_user_of_the_service_alone(services, club, tmp_path):
    if not is_sqlite(services.engine):
        assert services.engine.dialect.name == "postgresql"  # whose files are the server's
        return
    copy = tmp_path / "copy.db"
    backup(file_url(str(services.engine.url.database)), copy)
    assert len(files(services)) == 3
    assert {stat.S_IMODE(file.stat().st_mode) for file in [*files(services), copy]} == {0o600}
