"""The published and recomputed figures of scoring probability, held by tacticapi.scoring.

score_tables.json holds figures recomputed in exact fractions and rounded to six places, confirmed by a second route.
The formulas behind them: Carter & Crews 1974 (Am. Statistician 28), Newton & Keller 2005 (Stud. Appl. Math.
114:241-269) and O'Malley 2008 (J. Quant. Anal. Sports 4(2)), from memory and recomputed. Rules of Tennis, Rules 5
and 6 and appendix V: text of an edition seen.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from tacticapi.scoring.formats import Format, TieBreak
from tacticapi.scoring.games_and_sets import game_chance, game_fork, set_fork, tie_break_fork
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State

TABLES = json.loads((Path(__file__).parent / "data" / "score_tables.json").read_text())
ROUNDED = 6e-7
CALLS = ("0", "15", "30", "40")
NAMED = {"deuce": (3, 3), "Ad-in": (4, 3), "Ad-out": (3, 4)}
SEVEN, TEN = TieBreak(7), TieBreak(10)


def number(text):
    """A decimal or a fraction such as 13/20."""
    above, _, below = text.partition("/")
    return float(above) / float(below or 1)


def counted(call):
    """Points counted from a call such as 30-40, the server's first."""
    if call in NAMED:
        return NAMED[call]
    own, _, opponent = call.partition("-")
    return CALLS.index(own), CALLS.index(opponent)


def games_of(text):
    own, _, opponent = text.partition("-")
    return int(own), int(opponent)


def start(fmt, server="own"):
    return State(fmt, server=server)


def match_of(fmt, row, server="own"):
    return MatchModel(fmt, float(row["pa"]), 1 - float(row["pb"])).at(start(fmt, server))


@pytest.mark.parametrize("row", TABLES["game"], ids=lambda row: row["p"])
def test_a_game_has_its_published_chance_length_and_slope(row):
    p = number(row["p"])
    q = 1 - p
    assert game_chance(p) == pytest.approx(number(row["P_game_exact"]), abs=1e-12)
    assert game_chance(p) == pytest.approx(row["P_game"], abs=ROUNDED)
    assert game_fork(p).now == pytest.approx(row["P_game"], abs=ROUNDED)
    assert game_chance(p, no_ad=True) == pytest.approx(row["P_game_noad"], abs=ROUNDED)
    assert game_fork(p, no_ad=True).now == pytest.approx(row["P_game_noad"], abs=ROUNDED)
    assert game_fork(p, (3, 3)).now == pytest.approx(row["P_win_from_deuce"], abs=ROUNDED)
    step = 1e-5
    slope = (game_chance(p + step) - game_chance(p - step)) / (2 * step)
    assert slope == pytest.approx(row["dP_dp"], abs=ROUNDED)
    # Reaching deuce is the part of the chance that moves with what happens there: ad scoring against no-ad.
    moved = (game_chance(p) - game_chance(p, no_ad=True)) / (p * p / (p * p + q * q) - p) if p != 0.5 else 0.3125
    assert moved == pytest.approx(row["P_reach_deuce"], abs=ROUNDED)


def test_a_server_winning_two_points_in_three_holds_208_times_in_243():
    """Trefethen, note of 13 July 2023 (figure verified there and recomputed)."""
    assert game_chance(2 / 3) == pytest.approx(208 / 243, abs=1e-14)


@pytest.mark.parametrize("p", TABLES["game_from_score"])
def test_a_game_from_every_score_has_its_published_chance(p):
    for call, value in TABLES["game_from_score"][p].items():
        assert game_fork(float(p), counted(call)).now == pytest.approx(value, abs=ROUNDED), call


def test_a_tie_break_from_every_score_has_its_published_chance():
    for text, value in TABLES["tiebreak_from_score_pa0.65_pb0.60_A_first"].items():
        fork = tie_break_fork(SEVEN, games_of(text), 0.65, 0.40)
        assert fork.now == pytest.approx(value, abs=ROUNDED), text


@pytest.mark.parametrize("row", TABLES["set_match"], ids=lambda row: f"{row['pa']}-{row['pb']}")
def test_sets_and_matches_have_their_published_chances(row):
    serve, ret = float(row["pa"]), 1 - float(row["pb"])
    assert game_chance(serve) == pytest.approx(row["hold_A"], abs=ROUNDED)
    assert 1 - game_chance(ret) == pytest.approx(row["hold_B"], abs=ROUNDED)
    assert tie_break_fork(SEVEN, (0, 0), serve, ret).now == pytest.approx(row["tb7"], abs=ROUNDED)
    assert tie_break_fork(TEN, (0, 0), serve, ret).now == pytest.approx(row["tb10"], abs=ROUNDED)
    assert match_of(Format(), row).set.now == pytest.approx(row["set_tb7"], abs=ROUNDED)
    assert match_of(Format(set="advantage"), row).set.now == pytest.approx(row["set_adv"], abs=ROUNDED)
    # The table's short set has the ordinary tie-break to seven at four all.
    short = Format(games=4, tie_break_points=7)
    assert match_of(short, row).set.now == pytest.approx(row["short_set_4_tb_at_4"], abs=ROUNDED)
    matches = {
        "bo3_tb7": Format(),
        "bo3_final_adv": Format(final_set="advantage"),
        "bo3_final_tb10_at_6all": Format(final_set="tie-break-10"),
        "bo3_mtb10": Format(final_set="match-tie-break-10"),
        "bo5_tb7": Format(sets=5),
        "bo5_final_adv": Format(sets=5, final_set="advantage"),
        "bo5_final_tb10_at_6all": Format(sets=5, final_set="tie-break-10"),
    }
    for name, fmt in matches.items():
        assert match_of(fmt, row).match.now == pytest.approx(row[name], abs=ROUNDED), name
    assert set(row) - {"pa", "pb", "hold_A", "hold_B", "P_6_6", *matches} == {
        "tb7", "tb10", "set_tb7", "set_adv", "short_set_4_tb_at_4"
    }  # fmt: skip


@pytest.mark.parametrize("row", TABLES["set_match"], ids=lambda row: f"{row['pa']}-{row['pb']}")
def test_six_all_is_reached_as_often_as_published(row):
    """A set's chance is linear in its tie-break's, and the slope is the chance of reaching six all."""
    hold, broke = game_chance(float(row["pa"])), game_chance(1 - float(row["pb"]))
    rule = Format().set_rule(0)
    won, lost = (set_fork(rule, (0, 0), hold, broke, tie_break).now for tie_break in (1.0, 0.0))
    assert won - lost == pytest.approx(row["P_6_6"], abs=ROUNDED)


@pytest.mark.parametrize("pair", TABLES["set_from_games"])
def test_a_set_from_every_game_score_has_its_published_chance(pair):
    pa, pb = (float(part.split("=")[1]) for part in pair.split(","))
    model = MatchModel(Format(), pa, 1 - pb)
    servers = {"A_serves": "own", "B_serves": "opponent"}
    for games, by_server in TABLES["set_from_games"][pair].items():
        for name, value in by_server.items():
            state = State(model.format, games=games_of(games), server=servers[name])
            assert model.at(state).set.now == pytest.approx(value, abs=ROUNDED), (games, name)


def chance_of(model, contest, **score):
    fork = getattr(model.at(State(model.format, **{"server": "own", **score})), contest)
    return float(fork.now)


def arbitrary_values():
    """The states of the table "arbitrary", in its order."""
    three, five = Format(), Format(sets=5)
    even = {p: MatchModel(three, p, 1 - p) for p in (0.5, 0.6, 0.65)}
    five_even, uneven, five_uneven = (
        MatchModel(fmt, 0.65, ret) for fmt, ret in ((five, 0.35), (three, 0.40), (five, 0.40))
    )
    hole = {"games": (0, 5), "points": (0, 3)}
    behind = [(0.6, (0, 3)), (0.6, (1, 3)), (0.6, (2, 3)), (0.65, (0, 3)), (0.7, (0, 3))]
    tie_breaks = [(1, 0), (0, 1), (6, 6), (6, 5)]
    return [
        *(float(game_fork(p, points).now) for p, points in behind),
        *(chance_of(even[p], "set", **hole) for p in (0.5, 0.6, 0.65)),
        chance_of(even[0.6], "set", games=(0, 5), points=(0, 3), server="opponent"),
        chance_of(even[0.5], "match", sets=((3, 6),), **hole),
        chance_of(even[0.6], "match", sets=((3, 6),), **hole),
        chance_of(five_even, "match", sets=((3, 6), (3, 6)), **hole),
        chance_of(even[0.65], "set", games=(0, 1), server="opponent"),
        chance_of(even[0.65], "set", games=(3, 1)),
        chance_of(even[0.65], "set", games=(5, 3)),
        chance_of(even[0.65], "set", games=(4, 5)),
        chance_of(uneven, "match", sets=((3, 6),)),
        chance_of(five_uneven, "match", sets=((3, 6), (3, 6))),
        *(float(tie_break_fork(SEVEN, points, 0.65, 0.35).now) for points in tie_breaks),
        float(tie_break_fork(SEVEN, (0, 6), 0.5, 0.5).now),
    ]


def test_arbitrary_scores_have_their_published_chances():
    listed = TABLES["arbitrary"]
    for row, value in zip(listed, arbitrary_values(), strict=True):
        exact = number(row["exact"]) if row["exact"] else row["value"]
        assert value == pytest.approx(exact, abs=1e-12), row["state"]


@pytest.mark.parametrize(("pa", "pb"), [(0.65, 0.60), (0.55, 0.62), (0.71, 0.58), (0.4, 0.6)])
@pytest.mark.parametrize("kind", ["tie-break-7", "advantage"])
@pytest.mark.parametrize("no_ad", [False, True])
def test_the_chance_of_a_set_does_not_depend_on_who_serves_first(pa, pb, kind, no_ad):
    """Newton & Keller 2005, abstract seen; recomputed in exact fractions."""
    model = MatchModel(Format(set=kind, no_ad=no_ad), pa, 1 - pb)
    first, second = (model.at(start(model.format, server)) for server in ("own", "opponent"))
    assert first.set.now == pytest.approx(second.set.now, abs=1e-14)
    assert first.match.now == pytest.approx(second.match.now, abs=1e-14)


def test_a_tie_break_level_at_its_end_does_not_depend_on_who_serves_next():
    """O'Malley 2008, from memory, recomputed: pa (1 - pb) / (pa (1 - pb) + (1 - pa) pb)."""
    pa, pb = 0.65, 0.60
    expected = pa * (1 - pb) / (pa * (1 - pb) + (1 - pa) * pb)
    for rule in (SEVEN, TEN):
        for level in range(rule.points - 1, rule.points + 5):
            assert tie_break_fork(rule, (level, level), pa, 1 - pb).now == pytest.approx(expected, abs=1e-14)
            assert tie_break_fork(rule, (level, level), 1 - pb, pa).now == pytest.approx(expected, abs=1e-14)


@pytest.mark.parametrize(("pb", "gain_three", "gain_five"), [(0.60, 0.0512, 0.0640), (0.64, 0.0494, 0.0617)])
def test_one_more_serve_point_in_a_hundred_is_worth_five_matches_in_a_hundred(pb, gain_three, gain_five):
    for sets, gain in ((3, gain_three), (5, gain_five)):
        model = MatchModel(Format(sets=sets), np.array([pb, pb + 0.01]), 1 - pb)
        before, after = np.asarray(model.at(start(model.format)).match.now)
        assert after - before == pytest.approx(gain, abs=1e-4)


def absorbing_chance(steps, first):
    """Chance of reaching True in an absorbing Markov chain: state -> (chance, next if won, next if lost)."""
    index = {state: i for i, state in enumerate(steps)}
    matrix, right = np.eye(len(index)), np.zeros(len(index))
    for state, (p, won, lost) in steps.items():
        for chance, following in ((p, won), (1 - p, lost)):
            if following is True:
                right[index[state]] += chance
            elif following is not False:
                matrix[index[state], index[following]] -= chance
    return float(np.linalg.solve(matrix, right)[index[first]])


def chain(to, chances, *, fold=1, tie=None):
    """A race to `to` by two as a finite chain: past one short all by `fold`, the score falls back by `fold` each.

    fold: after how many units each the order of serving repeats. tie: (level, chance) of a unit that ends it there.
    """
    steps = {}

    def following(own, opponent):
        if max(own, opponent) >= to and abs(own - opponent) >= 2:
            return own > opponent
        falls_back = tie is None and min(own, opponent) >= to - 1 + fold
        return (own - fold, opponent - fold) if falls_back else (own, opponent)

    todo = [(0, 0)]
    while todo:
        own, opponent = state = todo.pop()
        if tie is not None and own == opponent == tie[0]:
            steps[state] = (tie[1], True, False)
        elif state not in steps:
            steps[state] = (chances(own + opponent), following(own + 1, opponent), following(own, opponent + 1))
            todo += [after for after in steps[state][1:] if not isinstance(after, bool)]
    return steps


@pytest.mark.parametrize(("serve", "ret"), [(0.62, 0.38), (0.7, 0.45), (0.55, 0.30), (0.5, 0.5)])
def test_an_absorbing_markov_chain_agrees_on_games_tie_breaks_and_sets(serve, ret):
    """A second route that shares no code: linear equations over every score."""
    hold, broke = (absorbing_chance(chain(4, lambda _, p=p: p), (0, 0)) for p in (serve, ret))
    assert game_chance(serve) == pytest.approx(hold, abs=1e-9)
    assert game_chance(ret) == pytest.approx(broke, abs=1e-9)

    def by_point(total):
        return serve if ((total + 1) // 2) % 2 == 0 else ret

    def by_game(total):
        return hold if total % 2 == 0 else broke

    for rule in (SEVEN, TEN):
        chained = absorbing_chance(chain(rule.points, by_point, fold=2), (0, 0))
        assert tie_break_fork(rule, (0, 0), serve, ret).now == pytest.approx(chained, abs=1e-9)
    tie_break = absorbing_chance(chain(7, by_point, fold=2), (0, 0))
    routes = {"tie-break-7": chain(6, by_game, tie=(6, tie_break)), "advantage": chain(6, by_game)}
    for kind, steps in routes.items():
        model = MatchModel(Format.from_wire({"set": kind}), serve, ret)
        assert model.at(start(model.format)).set.now == pytest.approx(absorbing_chance(steps, (0, 0)), abs=1e-9)
