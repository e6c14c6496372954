"""A deployment adds house rules, mutes ours, or weighs them otherwise; it never replaces them unseen."""

from dataclasses import replace
from pathlib import Path

import pytest

from tacticapi.rulebook.files import RuleFileError
from tacticapi.rulebook.load import load

from ...builders import HOUSE_TACTIC as ADDED
from .conftest import mistakes_of, write


def test_a_house_rule_says_that_it_is_one(rules, house):
    write(house, "tactics/club.yaml", ADDED)
    rulebook = load([rules, house])
    added = rulebook.tactics["club-serve"]
    assert (added.house, added.status, added.authority) == (True, "house rule", 4)
    assert added.when[0].conditions == ()
    assert not rulebook.tactics["kick-it-high"].house
    assert rulebook.digest != load([rules]).digest


def test_a_muted_tactic_goes_with_the_relations_to_it_and_with_what_asks_how_it_went(rules, house):
    write(house, "house.yaml", "mute: [serve-to-the-body]\n")
    rulebook = load([rules, house])
    assert list(rulebook.tactics) == ["kick-it-high"]
    assert rulebook.tactics["kick-it-high"].relations == ()
    write(house, "house.yaml", "mute: [kick-it-high]\n")
    assert [*load([rules, house]).tactics] == []


def test_of_a_tactic_only_the_alternative_that_asks_for_a_muted_one_goes(rules, house):
    path = rules / "tactics" / "serve.yaml"
    second = "share_at_most: 0.4}]\n      - all: [{score: games_ahead, at_least: 1}]\n"
    path.write_text(path.read_text().replace("share_at_most: 0.4}]\n", second))
    write(house, "house.yaml", "mute: [kick-it-high]\n")
    left = load([rules, house]).tactics["serve-to-the-body"]
    assert [one.conditions[0].name for one in left.when] == ["games_ahead"]


def test_a_reweighted_tactic_keeps_all_but_the_figures_named(rules, house):
    write(house, "house.yaml", "reweight: {kick-it-high: {costs: 0}, serve-to-the-body: {order: 1}}\n")
    kick, body = load([rules, house]).tactics.values()
    ours = load([rules]).tactics["kick-it-high"].price
    assert ours
    assert kick.price == replace(ours, costs=0.0)
    assert ours.costs > 0
    assert body.order == 1


def test_a_tactic_that_one_house_mutes_stays_muted_where_the_next_weighs_it(rules, house):
    write(house, "house.yaml", "mute: [serve-to-the-body]\n")
    next_house = house.with_name("next")
    write(next_house, "house.yaml", "reweight: {serve-to-the-body: {order: 1}}\n")
    assert list(load([rules, house, next_house]).tactics) == ["kick-it-high"]


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("house.yaml", "mute: [nothing]\n", "/mute/0: expected a known tactic"),
        ("house.yaml", "reweight: {nothing: {share: 0.1}}\n", "/reweight/nothing: expected a known tactic"),
        ("house.yaml", "reweight: {kick-it-high: {share: 9}}\n", "/share: expected the share of all points"),
        ("house.yaml", "reweight: {kick-it-high: {gain: 0.1}}\n", "/gain: expected one of share, costs, order"),
        ("house.yaml", "reweight: {kick-it-high: {order: 1}}\n", "/order: expected share or costs for this tactic"),
        ("house.yaml", "reweight: {serve-to-the-body: {costs: 0}}\n", "/costs: expected order for this tactic"),
        ("house.yaml", "silence: []\n", "/silence: expected one of mute, reweight"),
        ("defaults.yaml", 'version: "1"\n', "it is part of the built-in rules"),
        ("tactics/club.yaml", ADDED.replace("club-serve", "kick-it-high"), "expected a unique id"),
        ("circumstances/club.yaml", "circumstances: [{id: club-night, means: club night}]\n", "only our own"),
    ],
)  # fmt: skip
def test_a_mistake_in_house_rules_is_told(rules, house, name, text, expected):
    write(house, name, text)
    told = mistakes_of(rules, house)
    assert expected in "\n".join(map(str, told))
    assert all(mistake.file == str(house / name) for mistake in told)


OF_OLD = "effect: {applies_to: serve, share: 0.1, gain: 0.01, loss: 0.01}"


@pytest.mark.parametrize(
    ("effect", "told"),
    [
        (OF_OLD, "price: {points: serve, share: 0.05, sends: [{ball: serve-wing, wing: aimed,"),
        (OF_OLD.replace("serve", "both"), "price: {points: both, share: 0.1, sends: [{ball: deep,"),
        ("effect: {applies_to: return}", "price: {points: return, share: 0.1, sends: [{ball: return-deep,"),
        ("effect: {share: most}", "price: {points: both,"),
        ("effect: {applies_to: [serve]}", "price: {points:"),
        ("effect: none", "order: 5 if it sends no ball"),
    ],
)
def test_an_effect_of_old_is_refused_with_the_price_to_write_instead(rules, house, effect, told):
    write(house, "tactics/club.yaml", ADDED.replace("order: 5", effect))
    (expected,) = (one.expected for one in mistakes_of(rules, house) if one.field == "/tactics/0/effect")
    assert told in expected


HURT = "{all: [{own: injured, is: true}]}"


def claiming(category, *fields, when=HURT, source="house rule"):
    """The added tactic in a category, with further fields."""
    text = ADDED.replace("category: serve", f"category: {category}").replace("{all: []}", when)
    text = text.replace("source: house rule", f"source: {source}")
    return text + "".join(f"    {field}\n" for field in fields)


SAFETY = ("show: first", "authority: 1")


@pytest.mark.parametrize(
    ("category", "fields", "place", "expected"),
    [
        ("serve", ("show: first",), "show", "due or nothing: only physical and law-and-conduct may be first"),
        ("serve", ("authority: 1",), "authority", "3 or more: only physical and law-and-conduct rank above ability"),
        ("serve", ("authority: 2",), "authority", "3 or more: only physical and law-and-conduct rank above ability"),
        ("serve", ("alone: true",), "alone", "authority 1, show: first and one of physical, law-and-conduct"),
        ("serve", (*SAFETY, "alone: true"), "alone", "authority 1, show: first and one of"),
        ("physical", ("show: first", "alone: true"), "alone", "authority 1, show: first and one of"),
        ("physical", ("authority: 1", "alone: true"), "alone", "authority 1, show: first and one of"),
        ("law-and-conduct", ("authority: 1",), "authority", "2 or more: a house rule for safety belongs to physical"),
        ("law-and-conduct", (*SAFETY, "alone: true"), "authority", "2 or more: a house rule for safety"),
        ("physical", (*SAFETY, "targets: serve-to-wing"), "targets", "a safety line is not a way of playing"),
        ("physical", (*SAFETY, "needs: [{own: kick_serve, at_least: 1}]"), "needs", "is not a way of playing"),
    ],
)
def test_no_house_rule_passes_a_tactic_off_as_safety(rules, category, fields, place, expected):
    house = rules.with_name("house")
    write(house, "tactics/club.yaml", claiming(category, *fields))
    told = {mistake.field: mistake for mistake in mistakes_of(rules, house)}
    assert expected in told[f"/tactics/0/{place}"].expected
    assert told[f"/tactics/0/{place}"].line > 1


@pytest.mark.parametrize("fields", [("show: first",), ("authority: 1",), ("authority: 2",), (*SAFETY, "alone: true")])
def test_nor_does_a_rule_of_ours(rules, fields):
    write(rules, "tactics/serve.yaml", claiming("serve", *fields, source="common practice"))
    assert mistakes_of(rules)


@pytest.mark.parametrize(
    "condition",
    [
        "{belief: weak_high_ball, level: leaning}",
        "{score: games_ahead, at_least: 1}",
        "{tries: kick-it-high, tried_at_least: 3}",
        "{unseen: rally.pause}",
    ],
)
def test_safety_rests_on_the_day_and_the_body_only(rules, house, condition):
    write(house, "tactics/club.yaml", claiming("physical", *SAFETY, when=f"{{all: [{condition}]}}"))
    (mistake,) = mistakes_of(rules, house)
    assert mistake.field.startswith("/tactics/0/when/0/all/0/")
    assert "the day, the court or the body" in mistake.expected


@pytest.mark.parametrize("alone", ["true", "false"])
def test_a_clubs_own_policy_on_heat_or_injury_is_a_line_of_safety_and_its_law_is_none(rules, house, alone):
    write(house, "tactics/club.yaml", claiming("physical", *SAFETY, f"alone: {alone}"))
    made = load([rules, house]).tactics["club-serve"]
    assert (made.authority, made.alone, made.house) == (1, alone == "true", True)
    write(house, "tactics/club.yaml", claiming("law-and-conduct", "show: first"))
    assert load([rules, house]).tactics["club-serve"].authority == 2


@pytest.mark.parametrize("relation", ["overrides: hurt", "conflicts: hurt, settled: the surer, by: belief"])
def test_nothing_sets_safety_aside_and_it_yields_to_no_tactic(rules, house, relation):
    write(house, "tactics/care.yaml", claiming("physical", *SAFETY).replace("club-serve", "hurt"))
    write(house, "tactics/club.yaml", claiming("serve", f"relations: [{{{relation}}}]"))
    (mistake,) = mistakes_of(rules, house)
    assert (mistake.field, Path(mistake.file).name) == ("/tactics/0/relations/0", "club.yaml")
    assert "override safety" in mistake.expected
    write(house, "tactics/club.yaml", claiming("physical", *SAFETY, "relations: [{yields-to: kick-it-high}]"))
    (mistake,) = mistakes_of(rules, house)
    assert mistake.field == "/tactics/0/relations/0"


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("tactical: true, authority: 4", "tactical: true, authority: 2", "/categories/0/authority"),
        ("tactical: true, authority: 4", "tactical: false, authority: 4", "/categories/0/tactical"),
        ("tactical: false, authority: 3", "tactical: true, authority: 3", "/categories/1/tactical"),
    ],
)
def test_a_category_claims_no_more_than_its_tactics_may(rules, old, new, field):
    path = rules / "categories.yaml"
    path.write_text(path.read_text().replace(old, new))
    assert field in [mistake.field for mistake in mistakes_of(rules)]


def test_a_safety_line_cannot_be_muted(rules, house):
    write(house, "tactics/club.yaml", claiming("physical", *SAFETY))
    write(house, "house.yaml", "mute: [club-serve]\n")
    (mistake,) = mistakes_of(rules, house)
    assert mistake.field == "/mute/0"
    assert mistake.expected == "a tactic that is not a safety line: safety lines cannot be muted"


def test_our_own_folder_has_no_house_file(rules):
    write(rules, "house.yaml", "mute: []\n")
    with pytest.raises(RuleFileError, match=r"no house\.yaml outside a folder of house rules"):
        load([rules])
