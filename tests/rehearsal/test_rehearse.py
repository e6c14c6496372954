"""A small rehearsal from end to end."""

from xml.etree import ElementTree

import pytest

from tacticapi.advice import Adviser
from tacticapi.rulebook.load import load
from tests.rehearsal import LINES, rehearse, reliability_picture, render
from tests.rehearsal.one_opponent import Manner, rehearse_one
from tests.rehearsal.outcome import Stage


@pytest.fixture(scope="module")
def adviser():
    return Adviser(load())


@pytest.fixture(scope="module")
def met(adviser):
    return [rehearse_one(adviser, 1, index) for index in range(6)]


def test_the_same_opponent_is_met_in_the_same_way(adviser, met):
    assert rehearse_one(adviser, 1, 2) == met[2]


def test_nobody_does_better_than_the_player_who_knows_everything_by_much(met):
    # the all-knowing choice is built one tactic at a time, so another set may be a hair better
    for one in met:
        for at in one.stages.values():
            assert at.advised <= at.best + 0.004
            assert at.plain <= at.best


def test_as_many_suggestions_are_played_as_the_moment_allows(met):
    for one in met:
        for stage, most in ((Stage.WARM_UP, 3), (Stage.FOUR_GAMES, 2), (Stage.SET, 3)):
            assert len(one.stages[stage].suggested) <= most


def test_what_advice_claims_is_held_against_the_world_in_points_and_in_match_chance(met):
    held = [
        s for one in met for at in one.stages.values() for s in at.suggested if s.on_court and s.match_low is not None
    ]
    assert held
    assert all(s.match_low <= s.match_high and s.match_true is not None for s in held)
    assert all((s.true > 1e-6) == (s.match_true > 0) for s in held if abs(s.true) > 1e-6)


def test_beliefs_are_probabilities_with_a_known_truth_and_move_as_games_go_by(met):
    for one in met:
        early, late = one.stages[Stage.WARM_UP].believed, one.stages[Stage.SET].believed
        assert len(early) == len(late) > 30
        assert all(0 < b.probability < 1 for b in late)
        assert any(a.probability != b.probability for a, b in zip(early, late, strict=True))


def test_passing_over_what_the_world_cannot_express_leaves_only_what_it_can(adviser):
    one = rehearse_one(adviser, 1, 3, Manner(skips=True))
    assert all(s.on_court for at in one.stages.values() for s in at.suggested)


def test_the_report_has_every_table_and_the_picture_is_well_formed():
    seen: list[tuple[int, int]] = []
    report = rehearse(5, seed=2, processes=1, progress=lambda done, of: seen.append((done, of)))
    text = render(report)
    for title in (
        "Share of the best possible gain",
        "Honest confidence",
        "Beliefs after a set",
        "Defaults that this world",
    ):
        assert title in text
    assert seen[-1] == (6, 6)
    picture = ElementTree.fromstring(reliability_picture(report.lines[0].honest))
    assert len(picture.findall("{*}circle")) == sum(len(h.curve) for h in report.lines[0].honest)


def test_more_lines_and_enough_opponents_have_tables_of_their_own(met, monkeypatch):
    monkeypatch.setitem(rehearse.__globals__, "_meet", lambda line, seed, count, _: [met[n % 6] for n in range(count)])
    report = rehearse(40, seed=2, lines=LINES[:1])
    assert [line.name for line in report.lines] == ["as published", "observers err twice as often"]
    text = render(report)
    _, _, readers = text.partition("### What a trained reader reaches from the same notes\n\n")
    head, _, *rows = readers.partition("\n\n")[0].splitlines()
    assert head.split(" | ")[1:3] == ["own ratings alone", "with the counts"]
    assert [row.split(" | ")[0] for row in rows] == [f"| {stage}" for stage in Stage]
    _, _, changes = text.partition("### What changes when one thing changes\n\n")
    _, _, first, second = changes.partition("\n\n")[0].splitlines()
    assert first.startswith("| as published | 40 | ")
    assert second == first.replace("as published", "observers err twice as often")


def test_tries_are_told_unless_the_line_says_otherwise(adviser, monkeypatch):
    asked, recommend = [], adviser.recommend
    monkeypatch.setattr(adviser, "recommend", lambda situation: asked.append(situation) or recommend(situation))
    rehearse_one(adviser, 1, 1)
    assert [bool(situation.tries) for situation in asked] == [False, True, True]
    asked.clear()
    rehearse_one(adviser, 1, 1, Manner(tells_tries=False))
    assert [situation.tries for situation in asked] == [(), (), ()]


def test_no_opponent_is_no_rehearsal():
    with pytest.raises(ValueError, match="at least one opponent"):
        rehearse(0, seed=1)


def test_a_player_who_takes_up_nothing_plays_the_sensible_plan(adviser):
    one = rehearse_one(adviser, 1, 1, Manner(takes_up=1.0))
    assert all(at.advised == at.plain for at in one.stages.values())
