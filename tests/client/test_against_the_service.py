"""The client and the real service: a match from the warm-up to the debrief, as a program at the court would keep it."""

import re
import subprocess
import sys
from itertools import islice
from typing import Any
from uuid import uuid4

import pytest

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.contract import EXTENSION
from tacticapi.client import Client, Invalid, Match, NotFound, NotNow
from tacticapi.seeds import demo_situation

EVENT = {"coaching": "permitted", "device": "coach", "surface": "clay"}


@pytest.fixture
def match(client: Client) -> Match:
    """A match of two players whom nobody has met before."""
    own, opponent = (client.player(side, f"{side} {uuid4()}") for side in ("own", "opponent"))
    return client.match(own=own, opponent=opponent, context=EVENT, first_server="own")


def test_advice_is_told_in_parts_and_explained(client, match):
    situation = demo_situation("change-of-ends")
    told, whole = client.suggest(situation), client.suggest(situation, include=["beliefs", "profile"])
    assert told["suggestions"][0]["because"][0]["text"]
    assert whole.keys() - told.keys() == {"beliefs", "profile"}
    assert client.explain(situation)["beliefs"] == whole["beliefs"]
    tactic = next(client.tactics(category="serve"))["id"]
    assert [why["tactic"] for why in client.explain(situation, tactic=tactic)["why"]] == [tactic]
    match.saw("warmup.high_backhand", rating=1)
    live, more = match.advice("after-warm-up"), match.advice("after-warm-up", include=["beliefs"])
    assert more.keys() - live.keys() == {"beliefs"}
    assert match.advice("after-warm-up", include=["beliefs"]) is more


def test_scores_serves_court_and_ball_are_calculated(client):
    shares = {"own_serve": 0.65, "opponent_serve": 0.60}
    chances = client.calculate("win-chance", point_chances=shares, score={"server": "own"})
    assert chances["match"]["chance"] > 0.5
    table = client.calculate("importance", points_played={}, score={"games": [4, 4], "server": "own"})
    assert {item.get("score") for item in table["items"]} >= {"30-40", "0-0"}
    spots = {"wide": {"won": 5, "of": 9}, "T": {"won": 7, "of": 12}}
    mix = client.calculate("serve-mix", courts={"ad": {"spots": spots}}, seed=7)
    assert sum(filter(None, mix["courts"]["ad"]["tenths"].values())) == 10
    stand = client.calculate("court-position", ball={"x": 4.115, "y": 11.885})["stand"]
    assert stand["middle"]["x"] == pytest.approx(-1.203, abs=5e-4)


def test_the_rulebook_is_read_page_by_page(client):
    counts = client.rulebook()["counts"]
    lists = {"kinds": client.vocabulary, "traits": client.traits, "tactics": client.tactics, "sources": client.sources}
    assert {name: sum(1 for _ in read()) for name, read in lists.items()} == {name: counts[name] for name in lists}
    first = next(client.tactics(category="serve"))
    assert client.tactic(first["id"]) == first


def test_what_was_seen_changes_the_advice_and_a_poll_costs_nothing(match):
    before = match.advice("after-warm-up")
    assert match.advice("after-warm-up") is before
    match.saw("warmup.middle_ball_on_forehand", 7, of=8)
    match.saw("warmup.high_backhand", rating=1, by="bench")
    after = match.advice("after-warm-up")
    assert after is not before
    assert after["revision"] > before["revision"]
    assert match.advice("after-warm-up", limit=1) is not after


def test_a_miscount_is_put_right_and_a_slip_taken_back(match):
    wrong = match.saw("warmup.middle_ball_on_forehand", 7, of=8)
    right = match.correct(wrong, count=2)
    assert right.posted == {"what": "warmup.middle_ball_on_forehand", "count": 2, "of": 8}
    match.withdraw(right)
    kept_now = list(match.entries("observations"))
    assert [entry.posted and entry.posted["count"] for entry in kept_now] == [7, 2, None]
    assert kept_now[1].get("supersedes") == wrong["id"]
    point = match.point("own")
    corrected = match.correct(point, winner="opponent", own_error=True)
    assert [one["score"].get("points") for one in (point, corrected)] == [["15", "0"], ["0", "15"]]
    assert match.score().get("score") == corrected["score"]
    assert match.set_score(sets=[[6, 4]], games=[1, 0], server="own")["score"]["sets"] == [[6, 4]]


def test_of_many_lines_each_is_answered(match):
    good, bad = {"what": "warmup.high_backhand", "rating": 1}, {"what": "warmup.high_backhand", "rating": 9}
    lines = match.saw_many([good, bad, *[good] * 1_000])
    assert len(lines) == 1_002
    assert [line["line"] for line in lines[-2:]] == [1_001, 1_002]
    assert lines[0].posted == good
    assert "id" not in lines[1]
    assert [error["pointer"] for error in lines[1]["errors"]] == ["/rating"]
    match.withdraw(lines[-1])
    assert len(list(islice(match.entries("observations"), 120))) == 120


def test_pictures_the_card_and_the_debrief_are_shown(match):
    with pytest.raises(NotFound):
        match.picture("win-curve", moment="set-break")
    match.saw("warmup.high_backhand", rating=1)
    for winner in ("own", "opponent", "own", "own", "own"):
        match.point(winner)
    for name in ("win-curve", "beliefs"):
        assert match.picture(name, moment="set-break")._repr_mimebundle_()["image/svg+xml"].startswith("<svg")
    assert match.card(moment="set-break").startswith("<!doctype html>")
    match.end()
    page = match.debrief(format="html")
    assert page.pictures[0].startswith("<svg")
    shown = page._repr_mimebundle_()["text/html"]
    assert shown.startswith("<iframe sandbox")
    assert shown.count('"') == 6, "the page stands escaped in one attribute"


def test_a_refusal_names_every_fault(match):
    with pytest.raises(Invalid, match=r"(?s)^422 .*- /rating: expected .* found 9\n.*request \w+") as told:
        match.saw("warmup.high_backhand", rating=9)
    assert told.value.status == 422
    assert told.value.errors[0]["pointer"] == "/rating"
    assert told.value.type == "/problems/invalid-body"
    assert told.value.document["errors"][0]["value"] == 9


def test_what_is_not_there_is_not_found(client):
    with pytest.raises(NotFound):
        client.match(str(uuid4()))
    with pytest.raises(NotFound):
        client.tactic("no-such-tactic")
    with pytest.raises(TypeError):
        client.match(own="Larch")


def test_a_notebook_that_is_run_again_goes_on_with_the_same_match(client):
    names = {"own": f"Larch {uuid4()}", "opponent": f"Sleet {uuid4()}"}
    first = client.match(**names, context=EVENT)
    again = client.match(**names, context=EVENT)
    assert again.id == first.id == client.match(first.id).id
    assert again.record["version"] == first.record["version"]
    stricter = client.match(**names, context={**EVENT, "coaching": "not-permitted"})
    assert stricter.record["context"]["coaching"] == "not-permitted"
    assert stricter.record["version"] == first.record["version"] + 1
    assert client.match(**names, new=True).id != first.id
    assert len(list(client.matches(own_id=first.record.get("own_id")))) == 2


def test_a_players_facts_are_kept_up_to_date(client):
    label = f"Sleet {uuid4()}"
    made = client.player("opponent", label, facts={"handedness": "left"})
    assert client.player("opponent", label, facts={"handedness": "left"})["version"] == made["version"]
    assert client.player("opponent", label, facts={"handedness": "right"})["version"] == made["version"] + 1
    client.erase_player(made["id"])
    assert list(client.players(label=label)) == []


def test_a_match_is_told_from_warm_up_to_debrief(client, match):
    match.saw_many(demo_situation("after-match")["observations"])
    for winner in ("own", "own", "opponent", "own", "own"):
        match.point(winner)
    said = match.advice("change-of-ends")
    first = said["suggestions"][0]
    match.tried(first, 8, won=5)
    assert match.feedback(said, first, "outcome", reason="helped")["kind"] == "outcome"
    with pytest.raises(NotNow):
        match.debrief()
    assert match.end()["status"] == "ended"
    told = match.debrief()
    assert told["story"]
    assert next(line for line in told["tactics"] if line["tactic"] == first["tactic"])["tries"]["won"] == 5
    assert match.debrief(format="markdown").startswith("# ")
    opponent = match.record["opponent_id"]
    assert client.dossier(opponent)["matches"][0]["match_id"] == match.id


@pytest.fixture(scope="module")
def schemas(adviser: Adviser) -> dict[str, Any]:
    contract = create_app({"ADVISER": adviser}).extensions[EXTENSION]
    made: dict[str, Any] = contract.described()["components"]["schemas"]
    return made


@pytest.mark.parametrize("kind", [Client, Match])
def test_every_schema_that_a_method_names_is_in_the_contract(kind, schemas):
    texts = [vars(kind)[name].__doc__ or "" for name in vars(kind) if callable(vars(kind)[name])]
    named = {name for text in texts for name in re.findall(r"`([A-Z]\w+)`", text)}
    assert named
    assert named <= schemas.keys()


def test_the_client_needs_requests_and_nothing_else_of_the_service():
    script = """if True:
        import sys, requests; before = set(sys.modules); import tacticapi.client
        other = {name for name in set(sys.modules) - before if not (name + '.').startswith('tacticapi.client.')}
        print(sorted(name for name in other if name.partition('.')[0] not in sys.stdlib_module_names))"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['tacticapi']"
