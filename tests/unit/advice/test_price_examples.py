"""What a coach would expect of the prices, example by example: counts in, tactics out."""

import pytest

from tacticapi.domain.rules import Aim, Touches
from tacticapi.domain.situation import Moment, Way, Wing
from tacticapi.seeds import demo_situation

from ...builders import scored, tally

AT_A_WING = (Aim.FOREHAND, Aim.BACKHAND, Aim.AIMED)


@pytest.fixture(scope="module")
def usual(rulebook, situation):
    """A situation in the first set, our player being the usual one: usual(observations=[...])."""
    strokes = [k.key for k in rulebook.kinds.values() if k.subject == "own" and Way.RATING in k.ways and not k.health]

    def write(*seen, **more):
        asked = {
            "own": {"handedness": "right", **dict.fromkeys(strokes, 2)},
            "opponent": {"handedness": "right"},
            "score": scored("2-1"),
            "limit": 10,
            "observations": list(seen),
        }
        return situation(**{**asked, **more})

    return write


def priced(adviser, asked):
    return adviser._read(asked).prices


def price(adviser, asked, tactic, wing=None):
    prices = priced(adviser, asked)
    return float(prices.mean[prices.book.place[tactic, wing]])


def said(advice):
    return {line.tactic: line for line in advice.suggestions}


def misses(forehand, backhand=None):
    told = [("forehand", forehand), *([("backhand", backhand)] if backhand else [])]
    return [tally(f"rally.{wing}_errors", count, of) for wing, (count, of) in told]


@pytest.mark.parametrize(
    ("forehand", "backhand", "played_to"),
    [((4, 20), None, False), ((4, 20), (4, 20), False), ((12, 20), (4, 20), True)],
)
def test_a_forehand_is_played_to_only_if_it_misses_more_than_most(adviser, usual, forehand, backhand, played_to):
    told = said(adviser.recommend(usual(*misses(forehand, backhand))))
    assert bool({"work-weaker-wing", "serve-and-rally-to-weaker-forehand"} & {*told}) is played_to


def test_the_more_the_forehand_misses_the_more_it_is_worth_to_play_there(adviser, usual):
    asked = [usual(*misses((count, 20), (4, 20))) for count in range(4, 21)]
    worth = [price(adviser, one, "work-weaker-wing", Wing.FOREHAND) for one in asked]
    assert worth == sorted(set(worth))
    assert worth[-1] > 1.6 * worth[12 - 4] > 0


@pytest.mark.parametrize(("forehand", "backhand"), [((8, 15), (7, 14)), ((7, 14), (8, 15)), ((10, 20), (10, 20))])
def test_two_wings_that_miss_alike_sell_no_wing(adviser, usual, rulebook, forehand, backhand):
    told = said(adviser.recommend(usual(*misses(forehand, backhand))))
    at_a_wing = {name for name in told if aims_at_a_wing(rulebook.tactics[name])}
    assert not at_a_wing


def aims_at_a_wing(tactic):
    return tactic.price is not None and any(sent.wing in AT_A_WING for sent in tactic.price.sends)


HIGH = ("high-ball-to-high-ball-weakness", "kick-second-serve-to-high-ball-weakness")


@pytest.mark.parametrize(
    "seen",
    [
        {"what": "warmup.high_backhand", "rating": 3},
        {"what": "rally.against_high_ball", "rating": 3, "wing": "backhand"},
        {"what": "quality.high_ball", "rating": 3, "wing": "backhand"},
    ],
)
@pytest.mark.parametrize("moment", [Moment.AFTER_WARM_UP, Moment.CHANGE_OF_ENDS])
def test_who_handles_high_balls_well_gets_no_high_balls_and_who_does_not_gets_them(adviser, usual, seen, moment):
    score = {"score": None} if moment is Moment.AFTER_WARM_UP else {}
    told = said(adviser.recommend(usual(seen, moment=moment.value, **score)))
    assert not {*HIGH} & {*told}
    assert price(adviser, usual(seen), HIGH[0], Wing.BACKHAND) < 0 > price(adviser, usual(seen), HIGH[1])
    missed = usual(tally("rally.against_high_ball", 2, 14, wing="backhand"))
    assert {*HIGH} <= {*said(adviser.recommend(missed))}


def own_serve(rulebook):
    return [tactic.id for tactic in rulebook.tactics.values() if tactic.price and tactic.price.moves]


def test_every_double_fault_moves_what_own_serve_tactics_are_worth(adviser, usual, rulebook):
    safer, bolder = "first-serve-percentage-before-pace", "second-serve-deep-and-varied-under-attack"
    counts = [usual(tally("record.double_faults", count, 11)) for count in (0, 2, 4, 8, 11)]
    assert {safer, bolder} <= {*own_serve(rulebook)}
    rising, falling = ([price(adviser, asked, tactic) for asked in counts] for tactic in (safer, bolder))
    assert rising == sorted(set(rising))
    assert falling == sorted(set(falling), reverse=True)
    first, *_, last = (said(adviser.recommend(asked)) for asked in counts)
    assert safer not in first
    assert safer in last


def test_who_wins_behind_the_first_serve_and_not_behind_the_second_gets_more_first_serves_in(adviser, usual, rulebook):
    asked = usual(tally("record.first_serve_points_won", 5, 7), tally("record.second_serve_points_won", 1, 8))
    prices = priced(adviser, asked)
    worth = {name: float(prices.mean[prices.book.place[name, None]]) for name in own_serve(rulebook)}
    assert max(worth, key=lambda name: worth[name]) == "first-serve-percentage-before-pace"
    gains = [line.tactic for line in adviser.recommend(asked).suggestions if line.worth]
    on_serve = [name for name in gains if rulebook.tactics[name].touches is Touches.SERVE]
    assert on_serve[:1] == ["first-serve-percentage-before-pace"]


@pytest.mark.parametrize("moment", ["after-warm-up", "change-of-ends", "set-break", "after-match"])
def test_the_left_hander_with_the_strong_backhand_is_served_and_played_to_on_the_forehand(
    adviser, situation, rulebook, moment
):
    advice = adviser.recommend(situation(**{**demo_situation(moment), "limit": 10, "tries": []}))
    told = said(advice)
    assert "serve-and-rally-to-weaker-forehand" in told
    aimed = [line for line in told.values() if line.targets or aims_at_a_wing(rulebook.tactics[line.tactic])]
    for line in aimed:
        assert {target.wing for target in line.targets} <= {Wing.FOREHAND}
        assert line.drawn_for is None or line.drawn_for.wing in (None, Wing.FOREHAND) or not line.targets
    prices = priced(adviser, situation(**demo_situation(moment)))
    forehand, backhand = (float(prices.mean[prices.book.place["work-weaker-wing", wing]]) for wing in Wing)
    assert forehand > 0 > backhand
