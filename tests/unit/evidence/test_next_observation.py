"""What one more look could move: as much as the posterior moves when it is seen, less with every chance seen."""

from dataclasses import replace

import numpy as np
import pytest

from tacticapi.domain.situation import Phase, Wing
from tacticapi.evidence.gaussian import posterior
from tacticapi.evidence.next_observation import NextObservations
from tacticapi.evidence.profile import _laid_out  # the rows of a posterior

from ...builders import tally

ALL = (Phase.WARM_UP, Phase.GAMES)
GAMES = (Phase.GAMES,)
SPOTS = ("serve.deuce_court_spots", "serve.ad_court_spots", "serve.big_point_spots", "warmup.serve_spots")
HIGH = {"strokes": 1.0, "wing": 1.0, "high": 1.0}


@pytest.fixture(scope="module")
def looks(rulebook, evidence):
    return NextObservations(rulebook, evidence)


@pytest.fixture(scope="module")
def moves(looks, evidence, situation):
    """By how much each look moves some sums of the profile: moves([({"wing": 1}, wing), ...], observations=[...])."""

    def ask(sums, phases=ALL, spot=0.0, gone=(), **wire):
        beliefs = evidence.believe(situation(**wire))
        vectors = np.array([beliefs.opponent.latent.vector(loads, wing) for loads, wing in sums])
        found, by = looks.moves(beliefs, phases, vectors, np.full(len(sums), spot), gone)
        assert by.shape == (len(found), len(sums))
        return {(look.kind.id, look.wing): (look, row) for look, row in zip(found, by, strict=True)}

    return ask


SEEN = [tally("rally.backhand_errors", 6, 14), {"what": "quality.high_ball", "rating": 1}]


@pytest.mark.parametrize("seen", [[], SEEN])
@pytest.mark.parametrize("what", ["return.backhand_in", "rally.against_high_ball", "rally.backhand_errors"])
def test_a_look_moves_a_sum_as_far_as_the_posterior_loses_in_variance(moves, evidence, situation, seen, what):
    """Seen at the share that is expected, it lowers the variance by the square of what it moves on average."""
    wanted = [(HIGH, Wing.BACKHAND), ({"volley": 1.0}, None)]
    found = {key: one for key, one in moves(wanted, GAMES, observations=seen).items() if key[0] == what}
    fit = evidence.believe(situation(observations=seen)).opponent
    sums = np.array([fit.latent.vector(loads, wing) for loads, wing in wanted])
    for (_, wing), (look, by) in found.items():
        measure = look.kind.measures[0]
        vector, _ = fit.latent.summed(measure, wing)
        posted = {"what": what, "count": 1, "of": 2, **({"wing": wing.value} if wing else {})}
        rows = evidence.believe(situation(observations=[posted])).opponent.rows
        row = next(row for row in rows if row.pool.kind.id == what and row.chances)
        expected = 1.0 / (1.0 + np.exp(-(row.mu + fit.of(vector[np.newaxis])[0][0])))
        row = replace(row, hits=look.chances * expected, chances=float(look.chances))
        after = posterior(_laid_out([*fit.rows, row], fit.start)).of(sums)[1]
        before = fit.of(sums)[1]
        assert by**2 == pytest.approx(before - after, rel=0.05, abs=1e-6)


def test_a_kind_that_was_rated_four_times_has_no_more_to_say(moves):
    rated = {"what": "warmup.high_backhand", "rating": 1}
    for times, there in ((3, True), (4, False)):
        found = moves([(HIGH, Wing.BACKHAND)], observations=[rated] * times)
        assert any(what == "warmup.high_backhand" for what, _ in found) is there


def test_only_what_can_still_be_seen_and_is_not_known_is_looked_at_and_nobody_at_health(moves):
    found = moves([(HIGH, None)], GAMES)
    assert all(Phase.GAMES in look.kind.phases for look, _ in found.values())
    for look, _ in moves([(HIGH, None)]).values():
        assert not look.kind.health
        assert look.kind.subject not in ("own", "record", "plan", "context", "quality")
    before = (Phase.BEFORE, *ALL)
    for gone, there in (((), True), (("opponent.backhand_type",), False)):
        assert any(what == "opponent.backhand_type" for what, _ in moves([(HIGH, None)], before, gone=gone)) is there


def test_serves_that_are_counted_move_the_lead_of_a_spot_and_nothing_else_does(moves):
    found = moves([(HIGH, None)], spot=1.0)
    plain = moves([(HIGH, None)])
    for key, (_, by) in found.items():
        assert bool(by[0] != plain[key][1][0]) is (key[0] in SPOTS)
    practice, games = (found[kind, None][0] for kind in ("warmup.serve_spots", "serve.ad_court_spots"))
    assert 1 <= practice.chances < games.chances / 2
    counted = {"what": "serve.ad_court_spots", "counts": {"wide": 9, "body": 6, "T": 8}}
    after = moves([(HIGH, None)], GAMES, spot=1.0, observations=[counted])
    assert after["serve.ad_court_spots", None][1][0] < found["serve.ad_court_spots", None][1][0]
