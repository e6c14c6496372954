"""Tokens: shown once, kept as a hash, closed by time or by hand."""

import hmac
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tacticapi.service import Desk, NotFound, Refused, tokens
from tacticapi.service.secret import Secret
from tacticapi.store import Token, new_id


def test_the_text_opens_the_club_with_its_scopes(desk: Desk, club: str) -> None:
    issued = tokens.create(desk, club, "coach's phone", ["read", "observe"])
    found = tokens.authenticate(desk, issued.text)
    assert found is not None
    assert (found.club_id, list(found.scopes)) == (club, ["observe", "read"])


def test_the_secret_is_not_kept(desk: Desk, club: str) -> None:
    issued = tokens.create(desk, club, "phone", ["read"])
    kept = tokens.every(desk, club)
    assert kept == [issued.token]
    assert all(issued.text[50:] not in str(getattr(kept[0], field.name)) for field in fields(Token))
    assert len(kept[0].digest) == 64


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text[:-6] + ("AAAA" if text[-6:-2] != "AAAA" else "BBBB") + "==",
        lambda text: "tac_" + "A" * 86 + "==",
        lambda text: text.removeprefix("tac_"),
        lambda text: text[:-4],
        lambda text: "",
        lambda text: "tac_é",
        lambda text: text + "\n",
    ],
)
def test_another_text_opens_nothing(desk: Desk, club: str, change: Any) -> None:
    issued = tokens.create(desk, club, "phone", ["read"])
    assert tokens.authenticate(desk, change(issued.text)) is None


def test_secrets_are_compared_in_constant_time_whether_a_token_is_known_or_not(
    desk: Desk, club: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    issued, compared = tokens.create(desk, club, "phone", ["read"]), list[tuple[str, str]]()
    same = hmac.compare_digest
    monkeypatch.setattr(tokens.hmac, "compare_digest", lambda a, b: compared.append((a, b)) or same(a, b))
    unknown = Secret.new(club, new_id())
    assert tokens.authenticate(desk, issued.text) is not None
    assert tokens.authenticate(desk, unknown.text) is None
    assert [len(a) == len(b) == 64 for a, b in compared] == [True, True]
    assert unknown.secret.hex() not in repr(unknown)


def test_a_token_of_one_club_opens_no_other(desk: Desk, club: str, other_club: str) -> None:
    issued = tokens.create(desk, club, "phone", ["manage"])
    with pytest.raises(NotFound):
        tokens.revoke(desk, other_club, issued.token.id)
    assert tokens.every(desk, other_club) == []
    assert tokens.authenticate(desk, issued.text) is not None


def test_a_revoked_token_opens_nothing_and_stays_revoked(desk: Desk, club: str, clock: Any) -> None:
    issued = tokens.create(desk, club, "phone", ["read"])
    first = tokens.revoke(desk, club, issued.token.id)
    clock.forward(days=1)
    assert tokens.revoke(desk, club, issued.token.id).revoked_at == first.revoked_at
    assert tokens.authenticate(desk, issued.text) is None


def test_a_token_ends_at_its_time(desk: Desk, club: str, clock: Any) -> None:
    issued = tokens.create(desk, club, "phone", ["read"], expires_at=clock() + timedelta(hours=1))
    assert tokens.authenticate(desk, issued.text) is not None
    clock.forward(hours=1)
    assert tokens.authenticate(desk, issued.text) is None


def test_the_day_of_use_is_noted(desk: Desk, club: str, clock: Any) -> None:
    issued = tokens.create(desk, club, "phone", ["read"])
    tokens.authenticate(desk, issued.text)
    assert tokens.every(desk, club)[0].last_used == clock().date()


def test_scopes_labels_and_times_are_checked(desk: Desk, club: str) -> None:
    for scopes in ([], ["everything"]):
        with pytest.raises(Refused, match="observe"):
            tokens.create(desk, club, "phone", scopes)
    for time in (datetime(2020, 1, 1, tzinfo=UTC), datetime(2030, 1, 1)):
        with pytest.raises(Refused):
            tokens.create(desk, club, "phone", ["read"], expires_at=time)
