"""A small rehearsal from end to end."""

import pytest

from tacticapi.domain.situation import Moment, Observation, Situation, Way
from tacticapi.evidence.beliefs import EvidenceModel
from tests.rehearsal import Manner, Run, rehearse, render
from tests.rehearsal.measures import Calibrated, Claimed, Honest, Reached, Share
from tests.rehearsal.one_opponent import best_priced, rehearse_one, taken_up
from tests.rehearsal.outcome import Stage
from tests.rehearsal.players import AWAY, backhand_weaker
from tests.rehearsal.players import adviser as new_adviser
from tests.rehearsal.rehearse import Report, WorldResult
from tests.rehearsal.world.shots import BACKHAND, FOREHAND
from tests.rehearsal.world.tactics import Chosen, options


@pytest.fixture(scope="module")
def adviser():
    return new_adviser()


@pytest.fixture(scope="module")
def met(adviser):
    return [rehearse_one(adviser, 1, index) for index in range(6)]


def test_the_same_opponent_is_met_in_the_same_way(adviser, met):
    assert rehearse_one(adviser, 1, 2) == met[2]


def test_nobody_does_better_than_the_player_who_knows_everything_by_much(met):
    # the all-knowing choice is built one tactic at a time, so another set may be a hair better
    for one in met:
        for at in one.stages.values():
            assert max(at.reach.advised, at.reach.free, at.reach.old) <= at.reach.best + 0.004
            assert at.reach.plain <= at.reach.best


def test_what_advice_claims_is_held_against_the_world_in_points_and_in_match_chance(met):
    held = [h for one in met for at in one.stages.values() for h in at.reach.held if h.line.match_low is not None]
    assert held
    assert all(h.line.match_low <= h.line.match_high for h in held)
    assert all((h.true > 0) == (h.match_true > 0) for h in held if abs(h.true) > 1e-6)


def test_beliefs_are_probabilities_with_a_known_truth_and_move_as_games_go_by(met):
    for one in met:
        early, late = (one.stages[stage] for stage in (Stage.WARM_UP, Stage.SET))
        assert len(early.believed) == len(late.believed) > 30
        assert all(0 < b.probability < 1 for b in (*late.believed, late.backhand_weaker))
        assert any(a.probability != b.probability for a, b in zip(early.believed, late.believed, strict=True))
        assert early.backhand_weaker.true == late.backhand_weaker.true


def test_beliefs_alone_are_those_of_the_advice_and_nothing_is_reached(adviser, met):
    alone = rehearse_one(adviser, 1, 2, Manner(beliefs_only=True))
    assert alone.stages[Stage.WARM_UP].believed == met[2].stages[Stage.WARM_UP].believed
    assert all(at.reach is None for at in alone.stages.values())


def test_an_observer_who_errs_more_leaves_other_notes(adviser, met):
    assert rehearse_one(adviser, 1, 2, Manner(errs=2.0)) != met[2]


def test_misses_of_a_wing_make_it_the_weaker_one(adviser):
    def weaker(**misses):
        seen = [
            Observation(0, f"rally.{wing}_errors", Way.COUNT, count=count, of=20.0) for wing, count in misses.items()
        ]
        model = EvidenceModel(adviser.rulebook)
        return backhand_weaker(model, model.believe(Situation(Moment.SET_BREAK, observations=tuple(seen))).opponent)

    assert 0.0 < weaker(forehand=14.0) < weaker() < weaker(backhand=14.0) < 1.0
    assert weaker(forehand=14.0) < weaker(forehand=14.0, backhand=14.0) < weaker(backhand=14.0)


def test_players_take_up_what_claims_a_gain_each_tactic_once_and_no_more_than_they_may():
    wing, high = Chosen("work-weaker-wing"), Chosen("high-ball-to-high-ball-weakness")
    both = [(0.004, wing), (0.003, Chosen(wing.tactic, FOREHAND)), (0.002, high), (0.0, Chosen("cross-court-home"))]
    assert taken_up(both, 3) == [wing, high]
    assert taken_up(both, 1) == [wing]


@pytest.mark.parametrize("away", [FOREHAND, BACKHAND])
def test_free_choice_takes_the_largest_prices_and_serves_away_from_the_side_that_is_guarded(away):
    prices = [0.002 if one.tactic == AWAY else 0.001 if one.tactic == "work-weaker-wing" else 0.0 for one in options()]
    assert best_priced(prices, 3, away) == [Chosen(AWAY, away), Chosen("work-weaker-wing", FOREHAND)]


def test_the_report_has_a_row_for_each_world_and_the_mean_and_does_not_depend_on_processes():
    told: list[tuple[int, int]] = []
    run = Run(3, seed=2, worlds=("home", "club"), manner=Manner(beliefs_only=True))
    one, two = (rehearse(run, processes, lambda done, of: told.append((done, of))) for processes in (1, 2))
    assert one == two
    assert told[-1] == (6, 6)
    text = render(one)
    assert "captured" not in text
    assert "claimed" not in text
    _, _, _, _, _, *rows = text.splitlines()
    assert {row.split(" | ")[0] for row in rows[:2]} == {"| home", "| club"}
    assert rows[2].startswith("| mean | ")


def test_the_worst_world_comes_first_and_the_old_table_stands_beside_the_advice():
    beliefs = Calibrated(0.2, 0.25, 0.02)
    fair, poor = (
        WorldResult(
            name,
            (Honest(beliefs, beliefs),),
            (Reached(Share(share, 0.1), Share(0.3, 0.2), Share(0.35, 0.15), half_width=0.1, coverage=None),),
        )
        for name, share in (("home", 0.4), ("club", 0.25))
    )
    report = Report(Run(1, seed=2), "sha256:0", (fair, poor), (Claimed(0.65, 0.75, 40, 0.7, 0.625),))
    _, far, held, claims = (part.splitlines() for part in render(report).rstrip().split("\n\n"))
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in far]
    assert [row[:2] for row in cells[2:]] == [["club", ".250"], ["home", ".400"], ["mean", ".325"]]
    named = dict(zip(cells[0], cells[2], strict=True))
    assert (named["harm"], named["captured, old table"], named["harm, free choice"]) == (".100", ".350", ".200")
    assert [row.split(" | ")[0] for row in held[2:]] == ["| club", "| home", "| mean"]
    assert claims[2:] == ["| 0.65 to 0.75 | 40 | .700 | .625 |"]


def test_no_opponent_is_no_rehearsal():
    with pytest.raises(ValueError, match="at least one opponent"):
        rehearse(Run(0, seed=1))
