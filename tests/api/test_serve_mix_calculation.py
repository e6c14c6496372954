"""The serve mix over HTTP: mix, order and verdict of each court, faults with their place."""

from collections import Counter

import pytest

from .calculating import MIX, SERVES, asked, faults


def test_each_court_gets_its_mix_order_and_verdict(client):
    sequence = ["wide", "T"] * 7
    tags = ["game point" if place % 5 == 0 else None for place in range(14)]
    deuce = {**SERVES, "leans": {"wide": 7, "T": 2.5}, "sequence": sequence, "scores": tags}
    ad = {"spots": {"wide": {"won": 0, "of": 0}, "T": {"won": 0, "of": 0}}}
    courts = asked(client, MIX, courts={"deuce": deuce, "ad": ad}, receiver_handedness="left")["courts"]
    for court in courts.values():
        assert Counter(court["order"]) == Counter(court["tenths"])
        assert sum(court["tenths"].values()) == 10
        assert sum(spot["share"] for spot in court["spots"]) == pytest.approx(1.0)
        assert all(spot["low"] <= spot["share"] <= spot["high"] for spot in court["spots"])
    assert courts["deuce"]["pattern"].get("verdict") == "switches-too-often"
    assert [at.get("score") for at in courts["deuce"]["by_score"]] == ["game point"]
    wings = {spot["spot"]: spot.get("wing") for spot in courts["deuce"]["spots"]}
    assert wings == {"wide": "backhand", "body": None, "T": "forehand"}
    assert list(courts["ad"]["tenths"]) == ["wide", "T"]
    assert (courts["ad"].get("pattern"), courts["ad"].get("past_gives")) == (None, None)
    assert courts["ad"]["notes"][0] == "No serves counted: the mix rests on model defaults alone."


def test_an_opponents_serves_are_judged_in_words_about_them(client):
    deuce = {**SERVES, "sequence": ["wide", "T"] * 7}
    own, theirs = (asked(client, MIX, courts={"deuce": deuce}, server=server) for server in ("own", "opponent"))
    (ours,), (their_note,) = (
        [note for note in answer["courts"]["deuce"]["notes"] if "too often" in note] for answer in (own, theirs)
    )
    assert "you change spots" in ours
    assert "your opponent changes spots" in their_note
    assert theirs["courts"]["deuce"].get("pattern") == own["courts"]["deuce"]["pattern"]


def test_serves_by_leaning_count_beside_the_others(client):
    by_lean = {"wide": {"wide": {"won": 1, "of": 9}, "T": {"won": 8, "of": 9}}}
    plain = asked(client, MIX)["courts"]["deuce"]
    noted = asked(client, MIX, courts={"deuce": {**SERVES, "by_lean": by_lean}})["courts"]["deuce"]
    assert "46 serves counted" in noted["notes"][0]
    assert noted["value"] != plain["value"]


def test_a_spot_that_is_not_mixed_is_named_nowhere(client):
    two = {"wide": {"won": 1, "of": 2}, "T": {"won": 1, "of": 2}}
    cell = {"won": 0, "of": 1}
    court = {"spots": two, "leans": {"body": 1}, "by_lean": {"wide": {"body": cell}, "body": {}}, "sequence": ["body"]}
    found = faults(client, MIX, {"courts": {"deuce": court}})
    places = {"leans/body", "by_lean/wide/body", "by_lean/body", "sequence/0"}
    assert {at.removeprefix("/courts/deuce/") for at in found} == places
    assert set(found.values()) == {"one of wide, T, the names in `spots`"}
