"""Good rule files become a rulebook."""

import os
from pathlib import Path

from tacticapi.domain.rules import Aim, Ball, Gate, Level, Price, Relation, RelationKind, Sent, SourceRef, Touches
from tacticapi.domain.situation import Show, Wing
from tacticapi.rulebook.files import our_rules, rule_paths
from tacticapi.rulebook.load import load


def test_a_tactic_takes_what_it_leaves_out_from_its_category_and_the_defaults(rules):
    serve = rules / "tactics" / "serve.yaml"
    strain = "    risk: low\n    loads: [arm, trunk]\n    tires: true\n"
    serve.write_text(serve.read_text().replace("    risk: low\n", strain))
    kick, body = load([rules]).tactics.values()
    assert (kick.category, kick.show, kick.authority, kick.status) == ("serve", Show.GAIN, 4, "sourced")
    assert (body.show, body.authority, body.status) == (Show.REMINDER, 8, "common practice")
    assert (kick.alone, kick.loads, kick.tires) == (False, ("arm", "trunk"), True)
    assert (body.alone, body.loads, body.tires) == (False, (), False)
    assert kick.needs == (Gate(("kick_serve",), 2),)
    assert kick.sources == (SourceRef("MIX", "a mixed serve is harder to read"),)
    assert kick.relations == (Relation(RelationKind.CONFLICTS, "serve-to-the-body", "the belief that is surer"),)


def test_a_tactic_has_a_price_if_it_sends_a_ball_and_else_an_order(rules):
    rulebook = load([rules])
    kick, body = rulebook.tactics.values()
    sent = Sent("kick", 1, "serve-mix", Aim.AIMED)
    assert kick.price == Price(Touches.SERVE, 0.18, (sent,), own={"kick_serve": 0.5}, costs=0.001)
    assert (body.price, body.order) == (None, 3)
    assert (kick.touches, body.touches) == (Touches.SERVE, Touches.BOTH)
    assert rulebook.balls["serve-mix"] == Ball("serve-mix", "the usual serves", of={"kick": 0.3, "flat": 0.7})
    assert rulebook.defaults["prices"]["value"] == 0.08


def test_a_spread_given_as_one_number_is_that_of_a_club_player(rules):
    quality = load([rules]).qualities["high"]
    assert {level: round(spread, 3) for level, spread in quality.spread.items()} == {
        Level.TOUR: 0.36, Level.ADVANCED: 0.48, Level.CLUB: 0.6, Level.JUNIOR: 0.66
    }  # fmt: skip
    assert quality.wings == tuple(Wing)


def test_the_digest_ignores_layout_and_cases_and_follows_content(rules):
    first = load([rules]).digest
    assert first.startswith("sha256:")
    assert len(first) == len("sha256:") + 64
    categories = rules / "categories.yaml"
    text = categories.read_text()
    assert "id: serve, title: Serve" in text
    categories.write_text("# a remark\n" + text.replace("id: serve, title: Serve", 'title: "Serve",  id: serve'))
    (rules / "tactics" / "serve.cases.yaml").write_text("category: serve\ncases: []\n")
    assert load([rules]).digest == first
    categories.write_text(categories.read_text().replace("authority: 4", "authority: 5"))
    assert load([rules]).digest != first


def test_house_rules_are_named_in_the_environment(monkeypatch):
    monkeypatch.delenv("TACTICAPI_RULES", raising=False)
    assert rule_paths() == [our_rules()]
    monkeypatch.setenv("TACTICAPI_RULES", os.pathsep.join(("/one", "/two")))
    assert rule_paths() == [our_rules(), Path("/one"), Path("/two")]
