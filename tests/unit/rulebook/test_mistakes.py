"""A mistake in a rule file is reported with its file, line, field and what was expected."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.rulebook.checks import wording_faults
from tacticapi.rulebook.files import RuleFileError
from tacticapi.rulebook.load import load

from .conftest import mistakes_of

SERVE, WINGS, RALLY, OWN = "tactics/serve.yaml", "traits/wings.yaml", "observations/rally.yaml", "observations/own.yaml"
DEFAULTS, COMPUTED = "defaults.yaml", "circumstances/computed.yaml"
QUALITIES, SPOTS, BALLS = "qualities.yaml", "observations/serve.yaml", "balls.yaml"

SERVING, LEFTY, INJURED = "{score: serving, is: own}", "{circumstance: left-hander}", "own: injured, is: true"
KICK, OF_OWN, SHARE = "own: kick_serve", "own: {kick_serve: 0.5}", "share: 0.18"
MIX, HANDS = "{kick: 0.3, flat: 0.7}", "is: [left, both]"

SHAPE = [
    (SERVE, "    risk: low\n", "    risc: low\n", 22, "/tactics/0/risc", "one of id, title"),
    (SERVE, "    risk: low\n", "    risk: none\n", 22, "/tactics/0/risk", "one of low, medium, high"),
    (SERVE, "    risk: low\n", "    risk: low\n    loads: [head]\n", 23, "/tactics/0/loads/0", "one of arm, legs"),
    (SERVE, "    risk: low\n", "    risk: low\n    tires: perhaps\n", 23, "/tactics/0/tires", "true or false"),
    (SERVE, "    why: It cramps the swing.\n", "", 28, "/tactics/1/why", "the field why"),
    (SERVE, "say: Serve to the body.", f"say: {'x' * 141}", 30, "/tactics/1/say", "one line of at most 140 characters"),
    (SERVE, "say: Serve to the body.", "say: 'Serve to the {wnig}.'", 30, "/tactics/1/say", "are its only slots"),
    (SERVE, "level: leaning", "level: sure", 9, "/tactics/0/when/0/all/0/level", "one of open, leaning, likely"),
    (SERVE, "level: leaning, ", "", 9, "/tactics/0/when/0/all/0", "a belief with either level or at_least"),
    (SERVE, "at_least: 0.6}", "at_least: 60}", 12, "/tactics/0/when/1/all/0/at_least", "a chance from 0.001"),
    (SERVE, LEFTY, "{weather: fine}", 10, "/tactics/0/when/0/all/1", "a condition: belief, own"),
    (SERVE, "chances_at_least: 6", "chances_at_least: six", 13, "/tactics/0/when/1/all/1/chances_at_least",
     "a whole number"),
    (SERVE, "conflicts: serve-to-the-body, settled: the belief that is surer", "conflicts: serve-to-the-body", 26,
     "/tactics/0/relations/0/settled", "the field settled"),
    (SERVE, SHARE, "share: 1.8", 23, "/tactics/0/price/share", "the share of all points in which it is tried"),
    (SERVE, "costs: 0.001", "costs: 1", 23, "/tactics/0/price/costs", "averaged over all points"),
    (SERVE, "wing: aimed", "wing: left", 24, "/tactics/0/price/sends/0/wing", "forehand, backhand, aimed"),
    (SERVE, "per_point: 1,", "per_point: 0,", 24, "/tactics/0/price/sends/0/per_point", "balls per tried point"),
    (SERVE, ", instead_of: serve-mix", "", 24, "/tactics/0/price/sends/0/instead_of", "the field instead_of"),
    (SERVE, "{kick_serve: 0.5}", "{kick_serve: 0}", 23, "/tactics/0/price/own/kick_serve", "balls per tried point"),
    (SERVE, OF_OWN, "moves: {aces: 0.1}", 23, "/tactics/0/price/moves/aces",
     "one of first_serves_in, won_behind_first, double_faults, won_in_play"),
    (SERVE, "    order: 3\n", "", 28, "/tactics/1", "a price if it sends a ball, else an order"),
    (SERVE, "    risk: low\n", "    risk: low\n    order: 3\n", 3, "/tactics/0",
     "a price if it sends a ball, else an order"),
    (SERVE, "    risk: low\n", "    risk: low\n    show: due\n", 23, "/tactics/0/show", "ranked by it"),
    (SERVE, "    risk: medium\n", "    risk: medium\n    show: gain\n", 37, "/tactics/1/show",
     "first (care and law) or due"),
    (SERVE, "order: 3", "order: 10", 37, "/tactics/1/order", "a whole number from 1"),
    (BALLS, "value: 0.08", "value: 0", 1, "/value", "points per unit of log-odds"),
    (BALLS, "finds: {high: 1}", "price: 1", 11, "/balls/0", "what the ball finds, or the balls"),
    (RALLY, "ways: [count, rating]", "ways: [score]", 7, "/kinds/0/ways/0", "one of count, counts"),
    (DEFAULTS, 'version: "2026.1"', "version: 2026.1", 1, "/version", "a version as text"),
    (SERVE, "tries: kick-it-high, tried_at_least: 6, share_at_most: 0.4", "tries: kick-it-high", 33,
     "/tactics/1/when/0/all/1", "tries with tried_at_least, share_at_least or share_at_most"),
    (RALLY, "ways: [count, rating]", "ways: [count, count]", 7, "/kinds/0/ways", "each item once"),
    (COMPUTED, "{id: ahead, means: you lead in the match}", "ahead", 2, "/circumstances/0", "a mapping"),
    (COMPUTED, "all: [{opponent: handedness, is: [left, both]}]", "all: []", 6, "/circumstances/1/when/0/all",
     "a list of 1 to 8 conditions"),
    (SERVE, LEFTY, "{belief: weak_high_ball, level: leaning, wing: backhand}", 8,
     "/tactics/0/when/0/all", "8 different conditions"),
    (SERVE, "tried_at_least: 6", "tried_at_least: 2001", 33, "/tactics/1/when/0/all/1/tried_at_least", "to 2,000"),
    (WINGS, "lowest: 0.4", "lowest: 1", 6, "/traits/0/region", "a region, or a list of two"),
    (WINGS, "    favourite: 0.5\n", "", 7, "/traits/1", "exactly one of region, favourite"),
    (WINGS, "favourite: 0.5", "favourite: 0.4", 11, "/traits/1/favourite", "a share from 0.5, below 1"),
    (QUALITIES, "spread: 0.7", "spread: 0", 15, "/qualities/1/spread", "log-odds above 0"),
    (SPOTS, "hip: -1", "hip: -6", 18, "/kinds/1/measures/0/words/hip", "steps of the rating scale"),
    (RALLY, "high: 600", "high: 1e300", 20, "/kinds/1/high", "an amount from -1,000,000"),
    (RALLY, "unit: s", 'unit: " "', 18, "/kinds/1/unit", "a unit of at most 20 characters"),
]  # fmt: skip

ALONE = [
    (SERVE, "why: It cramps the swing.", "why: It cramps her swing.", 31, "/tactics/1/why",
     '"your opponent", "they" or "them"'),
    (SERVE, "say: Serve to the body.", "say: Serve to the left of the body.", 30, "/tactics/1/say",
     "text that names wings"),
    (SERVE, "category: serve\n", "category: return\n", 1, "/category", "the file's own category: serve"),
    (SERVE, "conflicts: serve-to-the-body", "conflicts: kick-it-high", 26, "/tactics/0/relations/0/conflicts",
     "another tactic"),
    (SERVE, "source: common practice", "source: house rule", 38, "/tactics/1/source", "common practice or a list"),
    (SERVE, SERVING, "{score: serving, is: me}", 33, "/tactics/1/when/0/all/0/is", "one of own, opponent"),
    (COMPUTED, "{id: ahead,", "{id: aheda,", 2, "/circumstances/0/when", "the field when: only our own"),
    (COMPUTED, "id: left-hander", "id: sign-chest-pain", 5, "/circumstances/1/when", "computes this circumstance"),
    (SERVE, "id: serve-to-the-body", "id: kick-it-high", 28, "/tactics/1/id", "a unique id"),
    (WINGS, "id: predictable_serve", "id: weak_high_ball", 7, "/traits/1/id", "a unique id"),
    (SERVE, SERVING, "{score: games_ahead, is: own}", 33, "/tactics/1/when/0/all/0/is", "a whole number"),
    (SERVE, SERVING, "{score: games_ahead, is: [2, true]}", 33, "/tactics/1/when/0/all/0/is/1", "a whole number"),
    (SERVE, SERVING, "{score: court, at_least: 1}", 33, "/tactics/1/when/0/all/0/at_least",
     "is with one of deuce, ad, either"),
    (SERVE, "same, share_at_most: 0.5, chances_at_least: 6}", "same}", 13, "/tactics/0/when/1/all/1",
     "a share, chances, value, rating, amount or seen"),
    (RALLY, "ways: [amount, seen]", "ways: [amount, value]", 12, "/kinds/1/options",
     "options if, and only if, value or counts is among the ways"),
    (RALLY, "phases: [warm-up, games]", "phases: [games]\n    high: 5", 9, "/kinds/0/high",
     "bounds only if amount is among the ways"),
    (OWN, "ways: [rating]", "ways: [rating, count]", 7, "/kinds/0/ways",
     "rating, value, amount, seen or text for an item that is a key of the request"),
    (RALLY, "    unit: s\n", "", 12, "/kinds/1/unit", "a unit if, and only if, amount"),
    (RALLY, "low: 0\n", "low: 900\n", 20, "/kinds/1/high", "a number above low"),
    (RALLY, "subject: rally", "subject: warmup", 3, "/kinds/0/id",
     "an id that begins with the file's subject: warmup."),
    (SERVE, SERVING, "{score: set_number, at_least: 6}", 33, "/tactics/1/when/0/all/0/at_least",
     "a whole number from 1 to 5"),
    (SERVE, SERVING, "{score: importance, is: [3, 1001]}", 33, "/tactics/1/when/0/all/0/is/1",
     "a whole number from 0 to 1000"),
    (SERVE, SERVING, "{score: games_ahead, at_least: 3, at_most: 2}", 33,
     "/tactics/1/when/0/all/0/at_most", "a number of at least"),
    (SERVE, "share_at_most: 0.5", "share_at_most: 0.5, share_at_least: 0.6", 13,
     "/tactics/0/when/1/all/1/share_at_most", "a number of at least"),
    (SERVE, SERVING, "{score: games_ahead, is: 3, at_most: 2}", 33,
     "/tactics/1/when/0/all/0/is", "either is, or at_least and at_most"),
    (SERVE, SERVING, "{score: games_ahead, is: [1, 2, 3, 4, 5]}, {score: set_games, is: [1, 2, 3, 4, 5, 6, 7]}, "
     "{score: breaks_ahead, is: [1, 2]}", 33, "/tactics/1/when/0/all", "at most 64 alternatives"),
]  # fmt: skip

BETWEEN_FILES = [
    (SERVE, "ball: kick,", "ball: lob,", 24, "/tactics/0/price/sends/0/ball", "a known ball"),
    (SERVE, "instead_of: serve-mix", "instead_of: nothing", 24, "/tactics/0/price/sends/0/instead_of", "a known ball"),
    (SERVE, "wing: aimed, per_point: 1, instead_of: serve-mix", "per_point: 1, instead_of: kick", 24,
     "/tactics/0/price/sends/0/instead_of", "a different ball: this one changes nothing"),
    (SERVE, OF_OWN, "own: {tweener: 0.5}", 23, "/tactics/0/price/own/tweener", "ability in own that is rated"),
    (SERVE, OF_OWN, "own: {injured: 0.5}", 23, "/tactics/0/price/own/injured", "ability in own that is rated"),
    (SERVE, OF_OWN, "gives: {kcik: 0.5}", 23, "/tactics/0/price/gives/kcik", "a known quality"),
    (SERVE, "points: serve, share: 0.18", "points: both, share: 0.18, moves: {double_faults: 0.1}", 23,
     "/tactics/0/price/moves", "no moves, or points: serve"),
    (SERVE, SHARE, "share: 0.18, spot: 0.1", 23, "/tactics/0/price/spot", "no spot, or points: return"),
    (BALLS, "finds: {high: 1}", "finds: {hihg: 1}", 11, "/balls/0/finds/hihg", "a known quality"),
    (BALLS, MIX, "{kick: 0.3, lob: 0.7}", 13, "/balls/2/of/lob", "a known ball"),
    (BALLS, MIX, "{kick: 0.3, serve-mix: 0.7}", 13, "/balls/2/of/serve-mix", "a ball that is not a mix"),
    (BALLS, "flat: 0.7", "flat: 0.6", 13, "/balls/2/of", "shares that sum to 1"),
    (SERVE, "belief: weak_high_ball, level", "belief: weak_ball, level", 9, "/tactics/0/when/0/all/0/belief",
     "a known trait"),
    (SERVE, "belief: weak_high_ball, level: leaning, wing", "belief: predictable_serve, level: leaning, wing", 9,
     "/tactics/0/when/0/all/0/wing", "no wing: predictable_serve has none"),
    (SERVE, "belief: weak_high_ball, at_least", "belief: predictable_serve, at_least", 13,
     "/tactics/0/when/1/all/1/wing", "another condition with a wing"),
    (SERVE, "circumstance: left-hander", "circumstance: rain", 10, "/tactics/0/when/0/all/1/circumstance",
     "a known circumstance"),
    (SERVE, "tries: kick-it-high", "tries: kick-it-low", 33, "/tactics/1/when/0/all/1/tries", "a known tactic"),
    (SERVE, "conflicts: serve-to-the-body", "conflicts: rest", 26, "/tactics/0/relations/0/conflicts",
     "a known tactic"),
    (SERVE, "key: MIX", "key: MAX", 27, "/tactics/0/source/0/key", "a key in the list of sources"),
    (SERVE, KICK, "own: kick", 16, "/tactics/0/needs/0/own", "a known ability in own"),
    (SERVE, KICK, "own: injured", 16, "/tactics/0/needs/0/own", "ability in own that is rated"),
    (SERVE, "value: [hip, chest]", "value: [hip, knee]", 18, "/tactics/0/unless/0/all/0/value/1",
     "an option of serve.second_serve_bounce: hip, chest, shoulder"),
    (SERVE, INJURED, "own: injured, at_least: 1", 18, "/tactics/0/unless/0/all/1/at_least", "posted as seen"),
    (SERVE, "observed: rally.against_high_ball", "observed: rally.pause", 13, "/tactics/0/when/1/all/1/share_at_most",
     "rally.pause is posted as amount, seen"),
    (WINGS, "of: {high: 1}", "of: {hihg: 1}", 6, "/traits/0/region/of/hihg", "a known quality"),
    (WINGS, "of: {kick: 1}", "of: {high/other: 1}", 17, "/traits/2/region/0/of/high~1other",
     "a named wing: nothing here has a wing of its own"),
    (WINGS, "of: {delays: 1}", "of: {delays/backhand: 1}", 18, "/traits/2/region/1/of/delays~1backhand",
     "a quality, with a wing only if it has wings"),
    (WINGS, "between: [0.4, 0.9]", "between: [0.9, 0.4]", 18, "/traits/2/region/1/between", "the lower quantile first"),
    (SPOTS, "loads: {kick: 1}", "loads: {kcik: 1}", 18, "/kinds/1/measures/0/loads/kcik", "a known quality"),
    (SPOTS, "hip: -1", "knee: -1", 18, "/kinds/1/measures/0/words", "an option of serve.second_serve_bounce"),
    (RALLY, "usual: 0.60", "seen: {yes: 1, no: 0}", 11, "/kinds/0/measures/0/seen",
     "no seen: rally.against_high_ball is posted as count, rating"),
    (SERVE, LEFTY, "{unseen: serve.grunts}", 10, "/tactics/0/when/0/all/1/unseen", "a known observation"),
    (SERVE, LEFTY, "{unseen: own.injured}", 10, "/tactics/0/when/0/all/1/unseen", "a known observation"),
    (SERVE, LEFTY, "{observed: own.injured, seen: true}", 10,
     "/tactics/0/when/0/all/1/observed", "own with is, at_least or at_most"),
    (SERVE, INJURED, "own: tired, is: true", 18, "/tactics/0/unless/0/all/1/own", "a known key of own"),
    (SERVE, INJURED, "own: kick_serve, at_most: 5", 18, "/tactics/0/unless/0/all/1/at_most", "a rating from 0 to 4"),
    (SERVE, INJURED, "own: kick_serve, is: [3, true]", 18, "/tactics/0/unless/0/all/1/is/1",
     "a test that fits: own.kick_serve is posted as rating"),
    (SERVE, INJURED, "own: kick_serve, is: [3, 5]", 18, "/tactics/0/unless/0/all/1/is/1", "a rating from 0 to 4"),
    (COMPUTED, "{opponent: handedness, is: [left, both]}", LEFTY, 5, "/circumstances/1/when", "no cycle"),
    (COMPUTED, HANDS, "is: 1", 6, "/circumstances/1/when/0/all/0/is",
     "a test that fits: opponent.handedness is posted as value"),
    (COMPUTED, HANDS, "is: [left, neither]", 6, "/circumstances/1/when/0/all/0/is/1",
     "an option of opponent.handedness"),
    ("moments.yaml", "moment: set-break, limit: 2, reminders: [serve]",
     "moment: set-break, limit: 2, reminders: [rest]", 6, "/moments/4/reminders/0", "a known category"),
    ("categories.yaml", "id: serve", "id: service", 1, "/moments/0/reminders/0", "a known category"),
]  # fmt: skip


@pytest.mark.parametrize("row", [*SHAPE, *ALONE, *BETWEEN_FILES])
def test_a_mistake_names_file_line_field_and_what_was_expected(spoil, row):
    name, old, new, line, field, expected = row
    told = [(Path(m.file).name, m.line, m.field, m.expected) for m in spoil(name, old, new)]
    file = "moments.yaml" if name == "categories.yaml" else Path(name).name
    line = 2 if name == "categories.yaml" else line
    assert [one for one in told if one[:3] == (file, line, field) and expected in one[3]], told


def test_all_mistakes_are_told_at_once_and_each_once(rules):
    for name, old, new in ((SERVE, "risk: low", "risk: none"), (WINGS, "lowest: 0.4", "lowest: 4")):
        path = rules / name
        path.write_text(path.read_text().replace(old, new))
    risk, region = mistakes_of(rules)
    assert "/tactics/serve.yaml:22: /tactics/0/risk: expected" in str(risk)
    assert "/traits/wings.yaml:6: /traits/0/region: expected" in str(region)


def test_a_condition_keeps_to_the_wing_of_its_trait(spoil):
    told = [str(mistake).rpartition("/serve.yaml:")[2] for mistake in spoil(WINGS, "wing: each", "wing: forehand")]
    assert '9: /tactics/0/when/0/all/0/wing: expected the wing of weak_high_ball: forehand, found "backhand"' in told


def test_a_circumstance_that_nothing_asks_for_is_told_where_it_stands(spoil):
    (mistake,) = spoil(SERVE, "{circumstance: left-hander}", "{circumstance: ahead}")
    assert (Path(mistake.file).name, mistake.line, mistake.field) == ("computed.yaml", 3, "/circumstances/1/id")
    assert mistake.expected == "a circumstance that some tactic uses"


def test_a_missing_file_or_folder_is_a_mistake(rules):
    (rules / "defaults.yaml").unlink()
    with pytest.raises(RuleFileError, match=r"defaults\.yaml:1: expected the defaults file"):
        load([rules])
    with pytest.raises(RuleFileError, match="a folder of rule files"):
        load([rules / "nowhere"])


def test_a_rule_file_in_no_known_place_is_a_mistake(rules):
    (rules / "tactic").mkdir()
    (rules / "tactic" / "serve.yaml").write_text("category: serve\ntactics: []\n")
    with pytest.raises(RuleFileError, match="a rule file with a known name"):
        load([rules])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from([SERVE, WINGS, RALLY, DEFAULTS, COMPUTED, "sources.yaml", "moments.yaml"]),
    place=st.floats(0, 1),
    cut=st.integers(0, 12),
    text=st.text(alphabet="ab:-[]{},&*! \n019.'\"", max_size=12)
    | st.sampled_from(["null", "[]", "{}", "[null]", "true"]),
)
def test_a_file_spoilt_anywhere_loads_or_is_refused(rules, name, place, cut, text):
    path = rules / name
    whole = path.read_text()
    at = int(place * len(whole))
    path.write_text(whole[:at] + text + whole[at + cut :])
    try:
        told = [load([rules])]
    except RuleFileError as error:
        told = list(error.mistakes)
    path.write_text(whole)
    assert told


@pytest.mark.parametrize(
    "text",
    ["her serve", "He waits.", "left of the body", "aim at the right corner", "Serve to the left.", "their left side"],
)
def test_a_text_that_speaks_of_one_gender_or_of_left_and_right_is_faulty(text):
    ((place, _, _),) = wording_faults({"unless": [{"why": text}]})
    assert place == ("unless", 0, "why")


def test_other_texts_stand():
    theirs = "There the shell rests. Theirs is the choice."
    for text in (theirs, "a left-hander's serve", "get to the right spot", "what is left"):
        assert list(wording_faults({"say": text, "id": "her"})) == []
