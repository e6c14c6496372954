"""Tokens: shown once, kept as a hash, closed by time or by hand."""

import hmac
from dataclasses import fields

from tacticapi.club import clubs
from tacticapi.club.clubs import Secret
from tacticapi.store import Token, new_id


def test_the_secret_is_not_kept_and_the_day_of_use_is_noted(services, club, clock):
    issued = clubs.create_token(services, club, "phone", ["read"])
    (kept,) = clubs.tokens_of(services, club)
    assert kept == issued.token
    assert all(issued.text[50:] not in str(getattr(kept, field.name)) for field in fields(Token))
    assert len(kept.digest) == 64
    clubs.authenticate(services, issued.text)
    assert clubs.tokens_of(services, club)[0].last_used == clock().date()


def test_secrets_are_compared_in_constant_time_whether_a_token_is_known_or_not(services, club, monkeypatch):
    issued, compared = clubs.create_token(services, club, "phone", ["read"]), list[tuple[str, str]]()
    same = hmac.compare_digest
    monkeypatch.setattr(clubs.hmac, "compare_digest", lambda a, b: compared.append((a, b)) or same(a, b))
    unknown = Secret.new(club, new_id())
    assert clubs.authenticate(services, issued.text) is not None
    assert clubs.authenticate(services, unknown.text) is None
    assert [len(a) == len(b) == 64 for a, b in compared] == [True, True]
    assert unknown.secret.hex() not in repr(unknown)
