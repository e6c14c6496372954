"""While a danger sign, pain or the event's rules withhold advice, no address gives it, stored or drawn."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Any

import pytest
from flask import Flask

from tacticapi.api.http.blueprint import JSON, offered_by
from tacticapi.club import Services, advising
from tacticapi.club.export import export
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment

from .conftest import Caller, Played

NOW = "moment=change-of-ends"
ANALYSIS = ("suggestions", "beliefs", "plan", "look_for", "held_back", "unused", "changed", "score")
PICTURES = ("win-curve", "beliefs", "serve-spots")
SERVED = {"what": "serve.deuce_court_spots", "counts": {"wide": 2, "T": 6}, "set": 1, "game": 2}
SIGN = {"what": "physical.warning_sign"}
DANGER = "safety-overrides-tactics"
PAIN = "pain-is-a-stop-sign"


@dataclass(frozen=True)
class Withholds:
    """What withholds advice: an entry or a change of the match, and the safety line that then comes first, if any."""

    seen: dict[str, Any] | None = None
    change: dict[str, Any] | None = None
    safety: str | None = None


WITHHELD = {
    "a danger sign was seen": Withholds(seen={**SIGN, "seen": True}, safety=DANGER),
    "a danger sign was named": Withholds(seen={**SIGN, "value": "chest pain"}, safety=DANGER),
    "the chest hurts": Withholds(change={"own": {"pain_site": "chest"}}, safety=DANGER),
    "pain 2 of 4": Withholds(change={"own": {"pain_now": 2, "pain_site": "knee"}}, safety=PAIN),
    "nobody may consult a device": Withholds(change={"context": {"coaching": "permitted", "device": "nobody"}}),
    "coaching is not permitted": Withholds(change={"context": {"coaching": "not-permitted", "device": "coach"}}),
}
EVERY = pytest.mark.parametrize("why", WITHHELD)


@dataclass(frozen=True)
class Running:
    """A match under way after advice was given and tried, against an opponent who was met before."""

    played: Played
    advice_id: str
    entries: dict[str, str]

    @property
    def address(self) -> str:
        return self.played.address


@pytest.fixture
def running(caller: Caller, under_way: Played) -> Running:
    ids = {"own_id": under_way.own, "opponent_id": under_way.opponent}
    earlier = f"/v1/matches/{caller.made('/v1/matches', ids)['id']}"
    caller.made(f"{earlier}/observations", {"what": "serve.followed_to_net", "count": 9, "of": 10})
    assert caller.post(f"{earlier}/end").status_code == 200
    entry = caller.made(f"{under_way.address}/observations", SERVED)["id"]
    advice = caller.get(f"{under_way.address}/suggestions?{NOW}").json
    shown = advice["suggestions"][0]["tactic"]
    caller.made(f"/v1/advice/{advice['advice_id']}/feedback", {"tactic": shown, "kind": "used"})
    point = caller.made(f"{under_way.address}/points", {"winner": "own"})["id"]
    tried = caller.made(f"{under_way.address}/tries", {"tactic": shown, "tried": 2, "won": 1})["id"]
    return Running(under_way, advice["advice_id"], {"observations": entry, "points": point, "tries": tried})


def withhold(caller: Caller, running: Running, why: str) -> Withholds:
    what = WITHHELD[why]
    if what.seen:
        caller.made(f"{running.address}/observations", what.seen)
    if what.change:
        caller.change(running.address, **what.change)
    return what


def said_of(what: Withholds, rulebook: Rulebook) -> str:
    if what.safety == PAIN:
        return "Pain (knee): stop playing and have it looked at before you play on."
    return rulebook.tactics[what.safety].say if what.safety else "Only safety advice is shown"


@EVERY
def test_stored_advice_pictures_card_and_dossier_hold_safety_alone(caller, running, rulebook, services, why):
    address, card_at = f"/v1/advice/{running.advice_id}", f"{running.address}/card?{NOW}"
    drawn = [f"{running.address}/pictures/{name}" for name in PICTURES]
    dossier_at = f"/v1/players/{running.played.opponent}/dossier"
    assert caller.get(address).json["suggestions"]
    assert [caller.get(picture).status_code for picture in drawn] == [200] * 3
    assert "When to change" in caller.get(card_at).text
    assert caller.get(dossier_at).json["beliefs"]
    what = withhold(caller, running, why)
    said = said_of(what, rulebook)

    given = caller.get(address).json
    live = caller.get(f"{running.address}/suggestions?{NOW}").json
    assert [one["tactic"] for one in given["suggestions"]] == ([PAIN] if what.safety == PAIN else [])
    assert not any(given.get(name) for name in (*ANALYSIS[1:], "situation", "fired"))
    assert (given["safety"], bool(given["notice"])) == (live["safety"], True)
    assert [line["tactic"] for line in given["safety"]][:1] == ([what.safety] if what.safety else [])
    assert (given["advice_id"], given["moment"]) == (running.advice_id, "change-of-ends")
    outcome = next(one for one in advising.replay(services, caller.club) if one.id == running.advice_id)
    assert (outcome.sort, outcome.told) == (advising.LEFT_OUT, (advising.WITHHELD,))

    for picture, query in product(drawn, ("", f"?{NOW}")):
        refused = caller.get(picture + query)
        assert (refused.status_code, refused.json["type"]) == (403, "/problems/not-permitted-now")
        assert refused.json["detail"].startswith(said)

    card = caller.get(card_at)
    assert card.status_code == (200 if what.safety else 403)
    assert said in card.text.replace("&#39;", "'")
    assert "When to change" not in card.text

    told = caller.get(dossier_at).json
    assert (told["beliefs"], told["matches"], told["begin_with"]) == ([], [], [])
    assert told["notice"][0].startswith(said)
    assert said in caller.get(dossier_at, headers={"Accept": "text/markdown"}).text
    asked = {"moment": "set-break", "opponent_id": running.played.opponent}
    advice = caller.post("/v1/suggestions", asked).json
    assert advice["notice"][0].startswith("Earlier matches against this opponent are not used")
    assert "earlier matches (" not in json.dumps(advice)


@EVERY
def test_an_export_leaves_out_the_advice_of_that_match_alone(caller, running, services, why):
    other = {"own_id": running.played.own, "opponent_id": running.played.opponent}
    other_match = caller.made("/v1/matches", other)["id"]
    other_advice = caller.get(f"/v1/matches/{other_match}/suggestions?moment=before-match").json["advice_id"]
    assert kept_of(services, caller, "advice") == {running.advice_id, other_advice}
    assert len(kept_of(services, caller, "feedback")) == 1
    withhold(caller, running, why)
    assert kept_of(services, caller, "advice") == {other_advice}
    assert kept_of(services, caller, "feedback") == set()
    assert caller.post(f"{running.address}/end").status_code == 200
    assert running.advice_id in kept_of(services, caller, "advice")
    assert len(kept_of(services, caller, "feedback")) == 1


def kept_of(services: Services, caller: Caller, kind: str) -> set[str]:
    lines = [json.loads(line) for line in export(services, caller.club)]
    return {line["row"]["id"] for line in lines if line.get("kind") == kind}


@EVERY
def test_once_the_match_has_ended_all_is_read_again_without_health_items(caller, running, why):
    withhold(caller, running, why)
    assert caller.get(f"{running.address}/debrief").status_code == 409
    assert caller.post(f"{running.address}/end").status_code == 200
    given = caller.get(f"/v1/advice/{running.advice_id}").json
    assert given["suggestions"]
    assert given["situation"]
    assert caller.get(f"{running.address}/debrief").json["tactics"]
    assert caller.get(f"/v1/players/{running.played.opponent}/dossier").json["beliefs"]
    assert caller.get(f"{running.address}/pictures/win-curve").status_code == 200


def test_without_a_danger_many_addresses_tell_a_tactic(caller, kept_app, running, rulebook):
    tactics = texts_of(rulebook)
    telling = {address for address, text in answers(caller, kept_app, running) if told(text, tactics)}
    for each in ("/suggestions", "/card", "/v1/advice/", "/v1/club/export"):
        assert any(each in address for address in telling), each


@EVERY
def test_no_address_of_a_match_an_advice_or_a_player_tells_a_tactic(caller, kept_app, running, rulebook, why):
    withhold(caller, running, why)
    tactics = texts_of(rulebook, safety=False)
    for address, text in answers(caller, kept_app, running):
        assert not told(text, tactics), address


def texts_of(rulebook: Rulebook, *, safety: bool = True) -> set[str]:
    """What all tactics say, without `safety` those that are none."""
    tactics = [tactic for tactic in rulebook.tactics.values() if safety or tactic.authority != 1]
    return {text for tactic in tactics for text in (tactic.say, *(way.say for way in tactic.when)) if text}


def told(text: str, tactics: set[str]) -> list[str]:
    plain = text.replace("&#39;", "'").replace("&#34;", '"').replace("\\u0027", "'").replace('\\"', '"')
    return [say for say in tactics if say in plain]


def answers(caller: Caller, app: Flask, running: Running) -> Iterator[tuple[str, str]]:
    """What each GET address under a match, an advice or a player answers, for each moment and in each media type."""
    ids = {"match_id": running.played.match, "advice_id": running.advice_id, "player_id": running.played.opponent}
    found = 0
    for rule in app.url_map.iter_rules():
        address = str(rule)
        if "GET" not in (rule.methods or ()) or not re.match(r"/v1/(matches|advice|players|club)\b", address):
            continue
        noun = next((name for name in running.entries if f"/{name}/" in address), "observations")
        known = {**ids, "entry_id": running.entries[noun]}
        assert rule.arguments <= known.keys(), f"{address}: say here what stands for its ids"
        filled = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", address).format(**known)
        view = app.view_functions[rule.endpoint]
        for media_type in offered_by(view) or (JSON,):
            for query in ("", *(f"?moment={moment.value}" for moment in Moment)):
                yield filled + query, caller.get(filled + query, headers={"Accept": media_type}).text
        found += 1
    assert found >= 20


def test_a_mistaken_sign_is_taken_back_as_any_entry_is(caller, running):
    entry = caller.made(f"{running.address}/observations", {**SIGN, "seen": True})["id"]
    assert caller.get(f"/v1/advice/{running.advice_id}").json["suggestions"] == []
    caller.made(f"{running.address}/observations", {**SIGN, "seen": False, "supersedes": entry})
    assert caller.get(f"/v1/advice/{running.advice_id}").json["suggestions"]
    assert caller.get(f"{running.address}/pictures/beliefs").status_code == 200


def signs(caller: Caller, address: str) -> list[dict[str, Any]]:
    listed = caller.get(f"{address}/observations?page_size=100&what={SIGN['what']}").json["items"]
    return [{"id": item["id"], **(item.get("observation") or {})} for item in listed]


@pytest.mark.parametrize(("site", "sign"), [("chest", "chest pain"), ("head", "head knock")])
def test_a_danger_sign_among_the_facts_outlives_a_change_of_facts(caller, running, rulebook, site, sign):
    caller.change(running.address, own={"pain_site": site, "volley": 3})
    (entered,) = signs(caller, running.address)
    assert (entered["value"], entered["note"]) == (sign, "from pain_site")
    assert sign in rulebook.kinds[SIGN["what"]].options
    caller.change(running.address, own={"pain_site": site, "volley": 2})
    assert len(signs(caller, running.address)) == 1
    caller.change(running.address, own={"volley": 2, "pain_site": None})
    live = caller.get(f"{running.address}/suggestions?{NOW}").json
    assert live["safety"][0]["tactic"] == DANGER
    assert live["suggestions"] == []

    caller.made(f"{running.address}/observations", {"withdraws": entered["id"]})
    assert caller.get(f"{running.address}/suggestions?{NOW}").json["suggestions"]
    caller.change(running.address, own={"pain_site": site})
    assert len([one for one in signs(caller, running.address) if one.get("value") == sign]) == 2


def test_a_danger_sign_among_the_first_facts_is_entered_with_the_match(caller, running):
    ids = {"own_id": running.played.own, "opponent_id": running.played.opponent}
    key = {"Idempotency-Key": "start"}
    first, again = (caller.made("/v1/matches", {**ids, "own": {"pain_site": "head"}}, headers=key) for _ in range(2))
    assert first == again
    address = f"/v1/matches/{first['id']}"
    assert [one["value"] for one in signs(caller, address)] == ["head knock"]
    caller.change(address, own={})
    live = caller.get(f"{address}/suggestions?moment=before-match").json
    assert (live["suggestions"], live["safety"][0]["tactic"]) == ([], DANGER)
    assert caller.post(f"{address}/end").status_code == 200
    assert signs(caller, address) == []
