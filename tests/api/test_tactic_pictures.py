"""Where a tactic happens, drawn for a pair of hands; suggestions link to it."""

import pytest

from .page import words_of


def test_the_hands_decide_where_a_wing_is(client):
    address = "/v1/tactics/work-weaker-wing/picture?wing=backhand"
    right, left = (words_of(client.get(f"{address}&opponent={hand}")) for hand in ("right", "left"))
    assert "two balls in three: on their side, 2.7 m to your right of the middle" in right
    assert "two balls in three: on their side, 2.7 m to your left of the middle" in left
    assert "your opponent left-handed" in left
    assert words_of(client.get("/v1/tactics/work-weaker-wing/picture")) == right


def test_serve_targets_are_drawn_from_the_one_table(client):
    told = words_of(client.get("/v1/tactics/serve-to-hidden-wing/picture?opponent=left&wing=backhand"))
    assert "deuce court: wide:" in told
    assert "ad court: T:" in told


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("no-such-tactic/picture", 404),
        ("reset-between-points/picture", 404),
        ("work-weaker-wing/picture?wing=elbow", 422),
        ("work-weaker-wing/picture?own=both", 422),
        ("work-weaker-wing/picture?colour=green", 422),
    ],
)
def test_what_cannot_be_drawn_is_said(client, address, status):
    assert client.get(f"/v1/tactics/{address}").status_code == status


def test_a_suggestion_with_a_place_links_to_its_picture(client, rulebook):
    body = {
        "moment": "before-match",
        "own": {"handedness": "right", "serve_placement": 3},
        "opponent": {"handedness": "left", "backhand_type": "one-handed"},
        "limit": 10,
    }
    suggestions = client.post("/v1/suggestions", json=body).get_json()["suggestions"]
    linked = {one["tactic"]: one.get("picture") for one in suggestions if one.get("picture")}
    assert linked
    for tactic, address in linked.items():
        assert address.startswith(f"/v1/tactics/{tactic}/picture?own=right&opponent=left")
        assert "left-handed" in words_of(client.get(address))
    without = [one["tactic"] for one in suggestions if not one.get("picture")]
    assert without
    assert all(tactic not in rulebook.places and not rulebook.tactics[tactic].targets for tactic in without)
