"""A small rehearsal from end to end."""

import pytest

from tacticapi.domain.situation import Moment, Observation, Situation, Way
from tacticapi.evidence.beliefs import EvidenceModel
from tests.rehearsal import Manner, Run, rehearse, render
from tests.rehearsal.measures import Honest, Reached
from tests.rehearsal.one_opponent import TAKES_UP, best_priced, rehearse_one
from tests.rehearsal.outcome import Stage
from tests.rehearsal.players import adviser as new_adviser
from tests.rehearsal.players import backhand_weaker, prices
from tests.rehearsal.rehearse import Report, WorldResult
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.tactics import CHANGES, options


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
            assert max(at.reach.advised, at.reach.by_price) <= at.reach.best + 0.004
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


def test_a_price_rises_with_the_belief_it_rests_on_and_the_best_are_different_tactics(adviser):
    pairing, key = draw_pairing(77, 3), ("weak_high_backhand", "backhand")
    usual = {
        (trait, wing and wing.value): chance
        for (trait, wing), chance in EvidenceModel(adviser.rulebook).priors().items()
    }
    low, high = (prices(adviser.rulebook, pairing, {**usual, key: chance}) for chance in (0.2, 0.7))
    at = [one.tactic for one in options()].index("high-ball-to-high-ball-weakness")
    assert high[at] > low[at]
    falling = [0.01 - 0.0001 * place for place in range(len(options()))]
    assert [one.tactic for one in best_priced(falling, 3)] == list(
        dict.fromkeys(one.tactic for one in options() if not CHANGES[one.tactic].reads)
    )[:3]
    assert best_priced([TAKES_UP / 2] * len(options()), 3) == []


def test_the_report_has_a_row_for_each_world_and_the_mean_and_does_not_depend_on_processes():
    told: list[tuple[int, int]] = []
    run = Run(3, seed=2, worlds=("home", "club"), manner=Manner(beliefs_only=True))
    one, two = (rehearse(run, processes, lambda done, of: told.append((done, of))) for processes in (1, 2))
    assert one == two
    assert told[-1] == (6, 6)
    _, _, _, head, _, *rows = render(one).splitlines()
    assert "captured" not in head
    assert {row.split(" | ")[0] for row in rows[:2]} == {"| home", "| club"}
    assert rows[2].startswith("| mean | ")


def test_the_worst_world_comes_first_and_empty_columns_do_not_show():
    fair, poor = (
        WorldResult(name, (Honest(0.2, 0.2, 0.2, 0.2, 0.02),), (Reached(share, 0.1, 0.1, 0.3, 0.2, None, None),))
        for name, share in (("home", 0.4), ("club", 0.25))
    )
    text = render(Report(Run(1, seed=2), "sha256:0", (fair, poor)))
    _, _, _, head, _, *rows = text.splitlines()
    assert [row.split(" | ")[:2] for row in rows] == [["| club", ".250"], ["| home", ".400"], ["| mean", ".325"]]
    assert "harm" in head
    assert "gain intervals hold" not in head


def test_no_opponent_is_no_rehearsal():
    with pytest.raises(ValueError, match="at least one opponent"):
        rehearse(Run(0, seed=1))
