"""The demo match: told from what the service accepts, alike in every process, and kept nowhere."""

import pytest

from tacticapi.club import scorekeeping
from tacticapi.club.demo import CLUB_ID, MATCH_ID, POINTS, Demo, seen_in, steps
from tacticapi.seeds import demo_match

from ...databases import add, app_on, new_database

STEPS = demo_match()["steps"]
LAST = len(STEPS) - 1
"""The number of the last step."""


def at(step, rest=""):
    return f"/demo/{step}/v1/matches/{MATCH_ID}{rest}"


def test_it_plays_in_about_a_minute_ends_with_the_debrief_and_tells_its_page_nothing_else():
    assert 45 <= sum(step["seconds"] for step in STEPS) <= 75
    assert STEPS[-1]["screen"] == "after"
    assert all(step["say"].endswith((".", "?", "!")) for step in STEPS)
    told = steps()
    assert [one["say"] for one in told] == [one["say"] for one in STEPS]
    assert [one["stage"] for one in told if "stage" in one] == ["Hand", "Ground", "Net", "Serve"]
    assert not any("seen" in one or "points" in one for one in told)


@pytest.fixture
def kept(adviser, tmp_path):
    with app_on(new_database("sqlite", tmp_path), adviser, TESTING=True, LOCAL=True) as app:
        yield app.test_client()


def test_what_is_entered_in_it_is_what_the_service_accepts(adviser, kept):
    film = demo_match()
    ids = {f"{side}_id": add(kept, "/v1/players", {"side": side, **film[side]}) for side in ("own", "opponent")}
    known = {name: film[name] for name in ("context", "first_server")}
    match = f"/v1/matches/{add(kept, '/v1/matches', ids | known)}"
    plan = ""
    for step in STEPS:
        plan = step.get("plan", plan)
        posted = [("observations", body) for body in seen_in(step)]
        posted += [("points", dict(POINTS[letter])) for letter in step.get("points", "")]
        if "tries" in step:
            posted.append(("tries", dict(zip(("tactic", "tried", "won"), (plan, *step["tries"]), strict=True))))
        for noun, body in posted:
            add(kept, f"{match}/{noun}", body)
    score = kept.get(f"{match}/score").json
    assert score["score"] == scorekeeping.score(Demo(adviser).at(LAST - 1), CLUB_ID, MATCH_ID)[0]
    assert score["moment"] == "after-match"


def test_its_plan_is_one_that_is_suggested_when_it_is_chosen(client):
    chosen = next(n for n, step in enumerate(STEPS) if "plan" in step)
    advice = client.get(at(chosen - 1, f"/suggestions?moment={STEPS[chosen - 1]['advice']}")).json
    assert STEPS[chosen]["plan"] in [line["tactic"] for line in advice["suggestions"]]
    after = client.get(at(chosen, "/suggestions?moment=change-of-ends")).json
    assert after["plan"]["tactic"] == STEPS[chosen]["plan"]


def test_it_answers_as_the_match_stands_after_the_step(client):
    assert client.get(at(0, "/observations")).json["items"] == []
    listed = client.get(at(5, "/observations?page_size=100")).json["items"]
    assert len(listed) == sum(len(seen_in(step)) for step in STEPS[:6])
    assert client.get(at(LAST)).json["status"] == "ended"
    assert client.get(at(999)).json["status"] == "ended"
    debrief = client.get(at(LAST, "/debrief")).json
    assert any(line["tries"]["of"] for line in debrief["tactics"])


@pytest.mark.parametrize(("noun", "body"), [("points", {"winner": "own"}), ("end", None)])
def test_nobody_changes_it(client, noun, body):
    assert client.post(at(10, f"/{noun}"), json=body).status_code == 403
    assert client.get("/demo/10/v1/club").json["label"] == "demo"
    assert client.delete(f"/demo/10/v1/matches/{MATCH_ID}").status_code in (403, 405)


def test_a_club_does_not_know_it(client):
    assert client.get(f"/v1/matches/{MATCH_ID}").status_code == 503  # nothing is kept here
    assert client.get("/demo/1/livez").status_code == 404
    assert client.get("/demo/x/v1/club").status_code == 404
