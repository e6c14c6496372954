"""The plan card: what stands on it, what never does, and when it is not given out."""

from typing import Any

import pytest

from ..page import Page, harmless

NOTES = "Check the event's rules on notes"
TYPED = '<img src=x onerror=alert(1)> & "quoted"'


def card(caller: Any, match: Any, query: str = "") -> Page:
    response = caller.get(f"{match.address}/card{query}")
    assert response.status_code == 200, response.text
    assert response.mimetype == "text/html"
    return harmless(response)


def with_context(caller: Any, match: Any, **context: Any) -> None:
    known = caller.get(match.address).json["context"]
    caller.change(match.address, context={**known, **context})


def test_a_card_has_two_serve_targets_a_stance_and_rules_to_play_by(caller, played):
    page = card(caller, played)
    assert ("html", {"lang": "en"}) in page.tags
    assert [attributes["role"] for tag, attributes in page.tags if tag == "svg"] == ["img"] * 3
    for part in ("Serve into the deuce court: wide", "Serve into the ad court: T", "Where to stand for the return",
                 "Plan against Sleet", "Serve.", "Return.", "Pressure.", "When to change", NOTES):  # fmt: skip
        assert part in page.said, part
    assert page.said.count("Rally. ") == 2
    known = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(set(known)) == len(known)


def test_what_is_on_it_is_what_is_advised(caller, played, rulebook):
    advice = caller.get(f"{played.address}/suggestions?moment=before-match&limit=10").json
    page = card(caller, played)
    said = [one for one in advice["suggestions"] if one["say"] in page.said]
    assert len(said) >= 2
    for one in said:
        assert not one.get("caution") or one["caution"] in page.said
    assert rulebook.tactics["same-plan-on-big-points"].say + " (for everybody)" in page.said


def test_the_card_is_no_advice_given(caller, played):
    card(caller, played)
    assert caller.get(f"{played.address}/advice").json["items"] == []


def test_against_somebody_unknown_the_targets_are_left_to_mark(caller):
    own, opponent = (
        caller.made("/v1/players", {"side": side, "label": f"Nobody {side}", "facts": {}})["id"]
        for side in ("own", "opponent")
    )
    match = caller.made("/v1/matches", {"own_id": own, "opponent_id": opponent, "context": {}})["id"]
    page = Page(caller.get(f"/v1/matches/{match}/card").text)
    assert page.said.count("(mark it)") == 2
    assert "not known yet; mark it by hand" in page.said
    assert page.said.count("(for everybody)") >= 3


def test_juniors_get_no_more_lines_than_elsewhere(caller, played, rulebook):
    with_context(caller, played, age_band="U12")
    page = card(caller, played)
    lines = sum(page.said.count(f"{part}. ") for part in ("Serve", "Return", "Rally", "Pressure"))
    assert 1 <= lines <= rulebook.defaults["juniors"]["tactical_lines"]
    assert "(for everybody)" not in page.said


def test_what_was_typed_stays_text(caller, played):
    caller.change(f"/v1/players/{played.opponent}", label=TYPED)
    page = card(caller, played)
    assert "img" not in {tag for tag, _ in page.tags}
    assert f"Plan against {TYPED}" in page.said


def test_safety_comes_first_and_where_it_must_alone(caller, played, rulebook):
    with_context(caller, played, heat="hot")
    page = card(caller, played)
    heat = rulebook.tactics["heat-precautions"]
    assert page.said.index(heat.say) < page.said.index("Serve, deuce")
    assert heat.caution is not None
    assert heat.caution in page.said
    with_context(caller, played, thunder=True)
    page = card(caller, played)
    assert rulebook.tactics["lightning-leave-court"].say in page.said
    assert not [tag for tag, _ in page.tags if tag == "svg"]
    assert "Rally." not in page.said
    assert NOTES in page.said


def test_health_items_are_never_on_it_but_as_safety(caller, played, rulebook):
    before = card(caller, played).said
    kinds = {kind.key for kind in rulebook.kinds.values() if kind.health and kind.subject == "own"}
    assert {"pain_now", "pain_site"} <= kinds
    caller.change(played.address, own={"pain_now": 3, "pain_site": "wrist"})
    page = card(caller, played)
    assert "Severe pain (wrist): stop play now and get medical help." in page.said
    assert page.said != before
    assert page.said.count("wrist") == 1
    assert "Serve." not in page.said


@pytest.mark.parametrize(("moment", "status"), [("after-warm-up", 200), ("before-match", 409), ("after-match", 409)])
def test_while_the_match_is_played_the_card_is_for_its_moments(caller, under_way, moment, status):
    with_context(caller, under_way, coaching="permitted", device="coach")
    assert caller.get(f"{under_way.address}/card?moment={moment}").status_code == status


def test_a_card_before_the_match_needs_no_permission(caller, played):
    with_context(caller, played, coaching="not-permitted", device="nobody")
    assert NOTES in card(caller, played).said
