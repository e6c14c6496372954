"""Chances from any score: an independent recursion over played points, limits, averages and decided matches."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tacticapi.scoring.formats import SIDES, Format, other
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State, after

from ...scores import match_importance, point_importance, win_chance
from .played_matches import played

FORTY_ALL = (3, 3)
FORMATS = (
    Format(),
    Format(no_ad=True, final_set="tie-break-10"),
    Format(sets=1, tie_break_at=5),
    Format(sets=5, final_set="match-tie-break-7", no_ad=True),
    Format(games=4),
    Format(games=4, tie_break_at=3, final_set="match-tie-break-10"),
    Format(games=4, tie_break_at=3, tie_break_points=7),
)
Seen = dict[tuple[object, ...], float]


def by_playing(state, serve, ret, seen):
    """Own's chance of the match by recursion over `after`, point by point; from level, two points at a time."""
    if state.winner is not None:
        return float(state.winner == "own")
    key = (state.sets_won, state.games, state.points, state.server)
    if key in seen:
        return seen[key]
    p = serve if state.server == "own" else ret
    won, lost = after(state, "own"), after(state, "opponent")
    if two_points_ahead_wins(state):
        r = serve if won.server == "own" else ret
        won, lost, p = after(won, "own"), after(lost, "opponent"), p * r / (p * r + (1 - p) * (1 - r))
    seen[key] = p * by_playing(won, serve, ret, seen) + (1 - p) * by_playing(lost, serve, ret, seen)
    return seen[key]


def two_points_ahead_wins(state):
    """Whether the game is level so late that nothing but a lead of two ends it."""
    own, opponent = state.points
    if state.in_tie_break and state.rule.tie_break is not None:
        return own == opponent >= state.rule.tie_break.points - 1 and not state.deciding_point
    return state.points == FORTY_ALL and not state.deciding_point


@pytest.mark.parametrize("fmt", FORMATS, ids=repr)
@pytest.mark.parametrize("pair", [(0.62, 0.41), (0.7, 0.2)])
def test_the_chance_equals_that_of_playing_every_point(fmt, pair):
    """From several scores of one match; short tie-breaks, where serving first matters, are among the formats."""
    dice, seen = np.random.default_rng(11), Seen()
    states = play_out(fmt, dice)
    for state in states[:: len(states) // 8]:
        assert win_chance(fmt, state, *pair) == pytest.approx(by_playing(state, *pair, seen), abs=1e-12)


def play_out(fmt, dice):
    states = [State(fmt, server="opponent")]
    while states[-1].winner is None:
        states.append(after(states[-1], "own" if dice.random() < 0.5 else "opponent"))
    return states


@given(played(), st.floats(0.05, 0.95), st.floats(0.05, 0.95))
@settings(max_examples=60, deadline=None)
def test_the_next_point_joins_now_won_and_lost(states, serve, ret):
    state = replace(states[-1], server=None if states[-1].winner else "opponent")
    chances = MatchModel(state.format, serve, ret).at(state)
    for contest in (chances.game, chances.set, chances.match):
        assert contest.now == pytest.approx(ret * contest.won + (1 - ret) * contest.lost, abs=1e-12)
        assert all(-1e-12 <= chance <= 1 + 1e-12 for chance in (contest.won, contest.lost))
    # not of the match: after tie-breaks with a deciding point it matters who serves first in the next set
    assert all(contest.lost <= contest.won + 1e-12 for contest in (chances.game, chances.set))
    if state.winner is None:
        won, lost = (win_chance(state.format, after(state, side), serve, ret) for side in SIDES)
        assert chances.match.won == pytest.approx(won, abs=1e-12)
        assert chances.match.lost == pytest.approx(lost, abs=1e-12)


@given(played(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_both_players_chances_add_up_to_one_and_winning_more_points_never_hurts(states, serve, ret):
    """Seen from across the net: pairs turned round, the point chances those of the other player."""
    state = states[-1]
    server = None if state.server is None else other(state.server)
    turned = State(state.format, tuple((b, a) for a, b in state.sets), state.games[::-1], state.points[::-1], server)
    ours, theirs = win_chance(state.format, state, serve, ret), win_chance(state.format, turned, 1 - ret, 1 - serve)
    assert 0.0 <= ours <= 1.0
    assert ours + theirs == pytest.approx(1.0, abs=1e-9)
    if 0.1 <= serve <= 0.9 and 0.1 <= ret <= 0.9:
        more = win_chance(state.format, state, [serve + 0.05, serve], [ret, ret + 0.05])
        assert min(more) >= ours - 1e-12


def test_a_match_that_never_ends_is_level():
    for fmt in (Format(), Format(set="advantage")):
        assert win_chance(fmt, State(fmt, server="own"), 1.0, 0.0) == 0.5
        assert win_chance(fmt, State(fmt, server="own"), 1.0, 0.5) > 0.99
        assert win_chance(fmt, State(fmt, server="own"), 1.0, 1.0) == 1.0
        assert win_chance(fmt, State(fmt, server="own"), 0.0, 0.0) == 0.0


@pytest.mark.parametrize(("sets", "chance"), [(((6, 4), (6, 4)), 1.0), (((4, 6), (6, 4), (5, 7)), 0.0)])
def test_a_decided_match_is_certain_and_nothing_matters_any_more(sets, chance):
    fmt = Format()
    state = State(fmt, sets)
    chances = MatchModel(fmt, [0.6, 0.7], 0.4).at(state)
    assert np.asarray(chances.match.now).tolist() == [chance, chance]
    importance = point_importance(fmt, state, [0.6, 0.7], 0.4)
    assert not np.any([importance.game, importance.set, importance.match])
    assert match_importance(fmt, state, 0.6, 0.4) == {}


def test_an_unknown_server_is_the_average_of_both():
    fmt, state = Format(), State(Format(), games=(4, 5), points=(1, 2))
    own, opponent = (win_chance(fmt, replace(state, server=side), 0.62, 0.4) for side in SIDES)
    assert win_chance(fmt, state, 0.62, 0.4) == pytest.approx((own + opponent) / 2, abs=1e-15)
    with pytest.raises(ValueError, match=r"^the importance of a whole game needs its server$"):
        match_importance(fmt, state, 0.62, 0.4)
    with pytest.raises(ValueError, match=r"^the fork of one game needs its server$"):
        MatchModel(fmt, 0.62, 0.4).unit_fork(state)


@pytest.mark.parametrize("bad", [-0.01, 1.01, float("nan"), [0.5, 2.0]])
def test_chances_outside_nought_to_one_are_refused(bad):
    with pytest.raises(ValueError, match="serve"):
        win_chance(Format(), State(Format()), bad, 0.4)
    with pytest.raises(ValueError, match="ret"):
        win_chance(Format(), State(Format()), 0.4, bad)


def test_the_importance_of_a_tie_break_is_listed_point_by_point():
    fmt = Format()
    state = State(fmt, ((6, 4),), (6, 6), (2, 1), "own")
    table = match_importance(fmt, state, 0.62, 0.4)
    assert len(table) == 49
    here = point_importance(fmt, state, 0.62, 0.4)
    assert table["2-1"] == pytest.approx(here.match, abs=1e-14)
    # Rule 5: one serve, then two each. After three points own, opponent, opponent it is own's turn.
    servers = ["own" if letter == "o" else "opponent" for letter in "oxxooxxooxxoo"]
    for own, opponent in product(range(7), repeat=2):
        served = servers[own + opponent]
        at = point_importance(fmt, replace(state, points=(own, opponent), server=served), 0.62, 0.4)
        assert table[f"{own}-{opponent}"] == pytest.approx(at.match, abs=1e-14)
        assert state.with_points((own, opponent)).server == served
    assert state.with_points((6, 6)).with_points((2, 1)) == state
    assert replace(state, server=None).with_points((2, 2)).server is None
