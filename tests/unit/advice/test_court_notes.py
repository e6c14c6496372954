"""The figures beside suggestions: for the posted player, and as the general rule where nothing was posted."""

from dataclasses import replace

import pytest

from tacticapi.advice.court_notes import NOTES, court_note
from tacticapi.domain.situation import Situation

OWN = {"spread_vertical": 2.5, "spread_sideways": 2.0, "rally_speed": 95, "serve_speed": 165, "serve_contact": 2.7}
THEIRS = {"wide_contact": 3.5, "run_speed": 5.5, "reaction_time": 0.25, "handedness": "left"}
TACTIC = {
    "across-or-line": "cross-court-home",
    "serve-window": "t-serve-shortens-angle",
    "recovery-spot": "recover-to-middle-of-angles",
    "recovery-spot-at-net": "net-cover-line-then-middle",
    "gap-that-beats": "finish-opened-side",
    "smash-cover": "cover-cross-smash-leave-line",
}


def text(figure, situation, rulebook):
    note = court_note(TACTIC[figure], situation, rulebook)
    assert note is not None
    assert note.figure == figure
    return note.text, note.posted


@pytest.mark.parametrize("figure", NOTES)
def test_every_figure_speaks_for_the_posted_player_and_in_general(figure, situation, rulebook):
    general, posted = (text(figure, one, rulebook) for one in (situation(), situation(own=OWN, opponent=THEIRS)))
    assert general[0] != posted[0]
    assert (general[1], posted[1]) == (False, True)


def test_every_tactic_with_a_figure_is_known_and_every_figure_is_used(rulebook):
    assert set(rulebook.figures) <= set(rulebook.tactics)
    assert set(rulebook.figures.values()) == set(NOTES)
    assert court_note("drop-shot-against-deep-position", Situation(next(iter(rulebook.moments))), rulebook) is None


def test_figures_follow_where_they_hit_from_and_how_fast_they_run(situation, rulebook):
    for metres, opponent in (("1.2", {}), ("0.3", {"wide_contact": 1.0})):
        assert f"about {metres} m" in text("recovery-spot", situation(opponent=opponent), rulebook)[0]
    told = [text("gap-that-beats", situation(opponent={"run_speed": speed}), rulebook)[0] for speed in (3.0, 4.0, 5.0)]
    gaps = [float(one.split(" at ")[1].split()[0]) for one in told]
    assert gaps == sorted(gaps)
    assert gaps[0] < gaps[-1]


def test_counted_smashes_move_the_smash_that_is_covered(situation, rulebook):
    counted = {"what": "net.smash_direction", "counts": {"across": 0, "other": 9}}
    for seen, way in (([], "across the body"), ([counted], "the other way")):
        asked = situation(opponent={"handedness": "right"}, observations=seen)
        assert way in text("smash-cover", asked, rulebook)[0]


def test_where_there_is_time_for_both_ways_of_a_smash_no_side_is_named(situation, rulebook):
    court = rulebook.defaults["court"]
    further_back = {**court["stand"], "behind_baseline_m": {**court["stand"]["behind_baseline_m"], "value": 6}}
    patient = replace(rulebook, defaults={**rulebook.defaults, "court": {**court, "stand": further_back}})
    told = text("smash-cover", situation(opponent={"handedness": "right"}), patient)
    assert told == ("From the baseline both ways of a smash moving back are within reach.", True)


def test_a_ball_that_cannot_be_played_is_told(situation, rulebook):
    slow, fast = {"spread_vertical": 2.0, "rally_speed": 40}, {"serve_speed": 260, "serve_contact": 1.4}
    for figure, words, own in (
        ("across-or-line", "does not reach", slow),
        ("gap-that-beats", "does not reach", slow),
        ("serve-window", "No serve", fast),
    ):
        assert words in text(figure, situation(own=own, opponent={"run_speed": 5}), rulebook)[0]


def test_advice_carries_the_figure_of_the_tactics_that_it_shows(adviser, situation, rulebook):
    shown = adviser.recommend(situation(moment="before-match", own={"spread_vertical": 2.5}, limit=20)).suggestions
    for suggestion in shown:
        assert (suggestion.court is not None) == (suggestion.tactic in rulebook.figures)
    assert any(suggestion.court and suggestion.court.posted for suggestion in shown)
