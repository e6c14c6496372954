"""Tokens over HTTP, and the one-time link that lets one phone into one match."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tacticapi.api.contract import EXTENSION, METHODS
from tacticapi.api.http.deployment import EXTENSION as DEPLOYMENT
from tacticapi.club import LinkSpent, NotFound, clubs

from .conftest import ON_BOTH_ENGINES, Caller, Played, new_match

BENCH = {"label": "bench phone", "scopes": ["advise", "observe"]}


def test_a_token_is_made_listed_and_closed(caller, kept_app):
    made = caller.made("/v1/tokens", {**BENCH, "expires_at": "2027-06-01T00:00:00+02:00"})
    secret = made.pop("token")
    assert (made["scopes"], made["expires_at"]) == (["observe", "advise"], "2027-05-31T22:00:00+00:00")
    bench = Caller(kept_app, secret)
    assert bench.get("/v1/players").status_code == 403
    assert bench.post("/v1/tokens", BENCH).status_code == 403
    listed = caller.get("/v1/tokens").json["items"]
    assert [one["label"] for one in listed] == ["phone", "bench phone"]
    assert made.items() <= listed[1].items()
    assert secret not in caller.get("/v1/tokens").text
    for _ in range(2):
        assert caller.call("DELETE", f"/v1/tokens/{made['id']}").status_code == 204
    assert bench.get("/v1/players").status_code == 401
    assert "revoked_at" in caller.get("/v1/tokens").json["items"][1]


def test_the_token_that_asks_does_not_close_itself(caller):
    own = caller.get("/v1/tokens").json["items"][0]["id"]
    refused = caller.call("DELETE", f"/v1/tokens/{own}")
    assert (refused.status_code, refused.json["errors"][0]["code"]) == (409, "own-token")
    assert caller.get("/v1/tokens").status_code == 200


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"scopes": []}, "/scopes"),
        ({"scopes": ["court"]}, "/scopes/0"),
        ({"scopes": ["everything"]}, "/scopes/0"),
        ({"label": " "}, "/label"),
        ({"expires_at": "2020-01-01T00:00:00Z"}, "/expires_at"),
        ({"expires_at": "2030-01-01T00:00:00"}, "/expires_at"),
        ({"expires_at": "tomorrow"}, "/expires_at"),
        ({"match_id": "x"}, "/match_id"),
    ],
)
def test_a_token_that_cannot_be_is_refused(caller, change, pointer):
    refused = caller.post("/v1/tokens", {**BENCH, **change})
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)


def code_of(caller: Caller, played: Played) -> tuple[dict[str, Any], str]:
    link = caller.made(f"{played.address}/court-links", None)
    return link, link["url"].rpartition("/")[2]


@pytest.fixture
def court(caller: Caller, under_way: Played, kept_app: Any) -> Caller:
    """A phone that opened the link to the match under way."""
    _, code = code_of(caller, under_way)
    opened = Caller(kept_app, None).made("/v1/court-tokens", {"code": code})
    assert opened["match_id"] == under_way.match
    return Caller(kept_app, opened["token"])


def test_a_link_opens_once(caller, played, kept_app):
    link, code = code_of(caller, played)
    assert link["url"] == f"http://localhost/match#/court/{code}"
    assert link["qr"].startswith("<svg ")
    assert [one["scopes"] for one in caller.get("/v1/tokens").json["items"]][1:] == [["link"]]
    for sent in (code, f"tac_{code.removeprefix('link_')}=="):
        assert Caller(kept_app, sent).get(played.address).status_code == 401
    nobody = Caller(kept_app, None)
    token = nobody.made("/v1/court-tokens", {"code": code})["token"]
    assert Caller(kept_app, token).get(played.address).status_code == 200
    again = nobody.post("/v1/court-tokens", {"code": code})
    assert (again.status_code, again.json["type"]) == (410, "/problems/link-spent")
    assert again.json["detail"] == "it has already been opened"
    listed = caller.get("/v1/tokens").json["items"][1]
    assert (listed["scopes"], listed["match_id"], listed["id"]) == (["court"], played.match, link["id"])


@ON_BOTH_ENGINES
def test_of_two_phones_that_open_a_link_at_once_one_gets_in(caller, played, services):
    _, code = code_of(caller, played)

    def opened(_: int) -> str | None:
        try:
            return clubs.open_court_link(services, code).text
        except LinkSpent:
            return None

    with ThreadPoolExecutor(4) as pool:
        got = [text for text in pool.map(opened, range(4)) if text]
    assert len(got) == 1
    assert clubs.authenticate(services, got[0])


def test_a_link_ends_soon_and_its_token_later(caller, played, services):
    (_, late), (_, code) = code_of(caller, played), code_of(caller, played)
    token = clubs.open_court_link(services, code)
    later = replace(services, now=lambda: services.now() + clubs.LINK_TIME + timedelta(seconds=1))
    with pytest.raises(LinkSpent, match="it has expired"):
        clubs.open_court_link(later, late)
    assert clubs.authenticate(later, token.text)
    assert not clubs.authenticate(replace(services, now=lambda: services.now() + clubs.COURT_TIME), token.text)


def test_a_link_can_be_closed_before_it_is_opened(caller, played, kept_app):
    link, code = code_of(caller, played)
    caller.call("DELETE", f"/v1/tokens/{link['id']}")
    closed = Caller(kept_app, None).post("/v1/court-tokens", {"code": code})
    assert (closed.status_code, closed.json["detail"]) == (410, "it was revoked")


@pytest.mark.parametrize("code", ["x", "link_", "link_" + "A" * 86, "tac_" + "A" * 86, "link_é", "link_" + "=" * 100])
def test_a_code_that_nobody_gave_opens_nothing(services, kept_app, code):
    assert Caller(kept_app, None).post("/v1/court-tokens", {"code": code}).status_code == 404


def test_a_changed_code_and_a_token_of_the_club_open_nothing(caller, played, services):
    _, code = code_of(caller, played)
    token = clubs.create_token(services, caller.club, "phone", ["read"])
    for wrong in (code[:-20] + "A" * 20, token.text.replace("tac_", "link_").rstrip("=")):
        with pytest.raises(NotFound):
            clubs.open_court_link(services, wrong)
    assert clubs.open_court_link(services, code)
    assert clubs.authenticate(services, token.text)


def test_neither_code_nor_secret_is_kept(caller, played, services):
    _, code = code_of(caller, played)
    secret = clubs.Secret.read(f"{code}==", clubs.LINK_PREFIX)
    kept = clubs.tokens_of(services, caller.club)[1]
    assert secret is not None
    assert code not in str(kept)
    assert secret.secret.hex() not in str(kept)
    assert kept.digest == secret.digest


def test_a_phone_at_the_court_does_all_of_its_match(court, under_way):
    address = under_way.address
    assert court.patch(address, {"context": {"bounce": "high"}}, headers={"If-Match": "*"}).status_code == 200
    court.made(f"{address}/observations", {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 6})
    court.made(f"{address}/points", {"winner": "own"})
    court.made(f"{address}/tries", {"tactic": "swap-serve-spots", "tried": 4, "won": 2})
    for noun in ("observations", "points", "tries", "score", "advice", "feedback", "card?moment=change-of-ends"):
        assert court.get(f"{address}/{noun}").status_code == 200, noun
    advice = court.get(f"{address}/suggestions?moment=change-of-ends").json
    told = {"tactic": advice["suggestions"][0]["tactic"], "kind": "used"}
    court.made(f"/v1/advice/{advice['advice_id']}/feedback", told)
    assert court.get(f"/v1/advice/{advice['advice_id']}").status_code == 200
    for player in (under_way.own, under_way.opponent):
        assert court.get(f"/v1/players/{player}").status_code == 200
    assert court.post(f"{address}/end").status_code == 200
    assert court.get(f"{address}/debrief").status_code == 200


def test_a_phone_at_the_court_does_nothing_else(kept_app, court, caller, under_way):
    """Every operation of the contract with the ids of another match of the club, which the club's own token may ask."""
    caller.patch(f"/v1/players/{under_way.own}", {"label": "Elm"}, headers={"If-Match": "*"})
    caller.patch(f"/v1/players/{under_way.opponent}", {"label": "Rain"}, headers={"If-Match": "*"})
    other = new_match(caller)
    entry = caller.made(f"{other.address}/points", {"winner": "own"})["id"]
    advice = caller.get(f"{other.address}/suggestions?moment=between-points").json["advice_id"]
    token = caller.get("/v1/tokens").json["items"][0]["id"]
    ids = {"match_id": other.match, "entry_id": entry, "advice_id": advice, "token_id": token, "player_id": other.own}
    ids["external_id"] = "court-7"
    before, tried = caller.get("/v1/club/export", headers={"Accept": "application/x-ndjson"}).text, 0
    for address, path in kept_app.extensions[EXTENSION].described()["paths"].items():
        for method in path.keys() & METHODS:
            if path[method]["security"] == [{"bearer": []}]:
                asked = re.sub(r"{(\w+)}", lambda name: ids[name[1]], address)
                refused = court.call(method.upper(), asked)
                assert refused.status_code == 403, asked
                assert refused.json["detail"] == "this token gives access to only one match", asked
                tried += 1
    for asked in ("/v1/players/{own}", "/v1/matches/{match}"):
        assert court.call("DELETE", asked.format(own=under_way.own, match=under_way.match)).status_code in (403, 405)
    assert court.get(f"/v1/players/{under_way.own}/dossier").status_code == 403
    after = caller.get("/v1/club/export", headers={"Accept": "application/x-ndjson"}).text
    assert after.splitlines()[1:] == before.splitlines()[1:]
    assert tried >= 35


def test_a_phone_at_the_court_hands_the_match_on_to_no_later_end(court, under_way, services, kept_app):
    first = clubs.tokens_of(services, clubs.every(services)[0].club_id)[-1]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clubs, "COURT_TIME", timedelta(days=9))
        _, code = code_of(court, under_way)
    passed_on = Caller(kept_app, None).made("/v1/court-tokens", {"code": code})
    assert first.expires_at is not None
    assert passed_on["expires_at"] == first.expires_at.isoformat()


def test_a_link_made_without_any_token_leaves_this_machine_open(new_app, services):
    app = new_app(LOCAL=True)
    here = Caller(app, None)
    played = new_match(here)
    _, code = code_of(here, played)
    phone = Caller(app, here.made("/v1/court-tokens", {"code": code})["token"])
    assert phone.get(played.address).status_code == here.get("/v1/players").status_code == 200
    assert not app.extensions[DEPLOYMENT].has_tokens()
