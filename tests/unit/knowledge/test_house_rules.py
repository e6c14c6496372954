"""A deployment adds house rules, mutes ours, or weighs them otherwise; it never replaces them unseen."""

from pathlib import Path

import pytest

from tacticapi.knowledge import RuleFileError, load

ADDED = """\
category: serve
tactics:
  - id: club-serve
    title: The club's serve
    say: Serve as the club does.
    why: It has worked here.
    when: [{all: []}]
    not_if: it does not work
    stop_when: look again after six tries
    risk: low
    effect: {on: serve, share: 0.1, gain: 0.01, loss: 0.01}
    source: house rule
"""


def put(house: Path, name: str, text: str) -> None:
    (house / name).parent.mkdir(parents=True, exist_ok=True)
    (house / name).write_text(text)


def test_a_house_rule_says_that_it_is_one(rules: Path, house: Path) -> None:
    put(house, "tactics/club.yaml", ADDED)
    rulebook = load([rules, house])
    added = rulebook.tactics["club-serve"]
    assert (added.house, added.status, added.authority) == (True, "house rule", 4)
    assert added.when[0].conditions == ()
    assert not rulebook.tactics["kick-it-high"].house
    assert rulebook.digest != load([rules]).digest


def test_a_muted_tactic_goes_with_the_relations_to_it(rules: Path, house: Path) -> None:
    put(house, "house.yaml", "mute: [serve-to-the-body]\n")
    rulebook = load([rules, house])
    assert list(rulebook.tactics) == ["kick-it-high"]
    assert rulebook.tactics["kick-it-high"].relations == ()


def test_a_reweighted_tactic_keeps_all_but_the_figures_named(rules: Path, house: Path) -> None:
    put(house, "house.yaml", "reweight: {kick-it-high: {gain: 0.01}}\n")
    effect = load([rules, house]).tactics["kick-it-high"].effect
    assert (effect.gain, effect.loss, effect.share) == (0.01, 0.02, 0.35)


def test_a_tactic_that_one_house_mutes_stays_muted_where_the_next_weighs_it(rules: Path, house: Path) -> None:
    put(house, "house.yaml", "mute: [serve-to-the-body]\n")
    next_house = house.with_name("next")
    put(next_house, "house.yaml", "reweight: {serve-to-the-body: {gain: 0.05}}\n")
    assert list(load([rules, house, next_house]).tactics) == ["kick-it-high"]


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("house.yaml", "mute: [nothing]\n", "/mute/0: expected a known tactic"),
        ("house.yaml", "reweight: {nothing: {gain: 0.1}}\n", "/reweight/nothing: expected a known tactic"),
        ("house.yaml", "reweight: {kick-it-high: {gain: 9}}\n", "/reweight/kick-it-high/gain: expected a change"),
        ("house.yaml", "silence: []\n", "/silence: expected one of mute, reweight"),
        ("defaults.yaml", 'version: "1"\n', "only our own rules have it"),
        ("tactics/club.yaml", ADDED.replace("club-serve", "kick-it-high"), "expected an id used once"),
        ("circumstances/club.yaml", "circumstances: [{id: club-night, means: club night}]\n", "only our own"),
    ],
)  # fmt: skip
def test_a_mistake_in_house_rules_is_told(rules: Path, house: Path, name: str, text: str, expected: str) -> None:
    put(house, name, text)
    with pytest.raises(RuleFileError) as caught:
        load([rules, house])
    assert expected in str(caught.value)
    assert {Path(mistake.file).parts[-len(Path(name).parts) :] for mistake in caught.value.mistakes} == {
        Path(name).parts
    }


def test_a_safety_line_cannot_be_muted(rules: Path, house: Path) -> None:
    put(house, "tactics/club.yaml", ADDED.replace("risk: low", "risk: low\n    authority: 1"))
    put(house, "house.yaml", "mute: [club-serve]\n")
    with pytest.raises(RuleFileError) as caught:
        load([rules, house])
    assert "/mute/0: expected a tactic that is no safety line" in str(caught.value)


def test_our_own_folder_has_no_house_file(rules: Path) -> None:
    put(rules, "house.yaml", "mute: []\n")
    with pytest.raises(RuleFileError, match=r"house\.yaml in a folder of house rules only"):
        load([rules])
