"""What must hold of every profile: order, direction, wings that miss alike, one good ball, traits that agree."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.rules import Level
from tacticapi.domain.situation import Phase, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook.conditions import QUALIFIERS
from tacticapi.rulebook.load import load

from ...builders import tally

BOOK = load()
ROOM = 1.02  # no belief is below a hundredth, so two that exclude each other may add up to a little more than 1
MODEL = EvidenceModel(BOOK)
COUNTED = [
    (kind, measure)
    for kind in BOOK.kinds.values()
    for measure in kind.measures
    if measure.usual and Way.COUNT in kind.ways and measure.way in (None, Way.COUNT) and Phase.GAMES in kind.phases
    if kind.subject not in ("record", "own") and not measure.options
]
GAP = {"wing/backhand": 1.0, "wing/forehand": -1.0}


def mean(beliefs, loads, wing=None):
    fit = beliefs.opponent
    sums = fit.latent.vector(loads, wing).reshape(1, -1)
    return float(fit.of(sums)[0][0])


def probability(beliefs, trait, wing=None):
    return next(b.probability for b in beliefs.all if b.trait == trait and (b.wing or None) == wing)


@given(order=st.permutations(range(6)))
def test_the_order_in_which_things_were_seen_changes_nothing(order, situation):
    posted = [
        tally("rally.backhand_errors", 5, 14, set=1, game=2),
        tally("rally.backhand_errors", 2, 9, set=1, game=4),
        tally("rally.against_high_ball", 2, 7, wing="backhand", set=1, game=3),
        {"what": "warmup.high_backhand", "rating": 1},
        {"what": "rally.clearance", "value": "low"},
        {"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 1, "T": 1}},
    ]
    plain = MODEL.believe(situation(observations=posted))
    shuffled = MODEL.believe(situation(observations=[posted[n] for n in order]))
    assert [b.probability for b in shuffled.all] == pytest.approx([b.probability for b in plain.all], abs=1e-9)


@pytest.mark.parametrize(("kind", "measure"), COUNTED, ids=[kind.id for kind, _ in COUNTED])
def test_more_chances_with_the_same_share_move_the_estimate_further(kind, measure, situation):
    wing, said = (Wing.BACKHAND, {"wing": "backhand"}) if "wing" in kind.qualifiers else (None, {})
    usual = measure.usual[Level.CLUB]
    shares = [share for share in (0.0, 0.5, 1.0) if abs(share - usual) > 0.15]
    for share in shares:
        seen = [[tally(kind.id, int(share * n), n, **said)] for n in (2, 6, 18, 54)]
        moves = [mean(MODEL.believe(situation(observations=one)), measure.loads, wing) for one in seen]
        rises = share > usual
        assert moves == sorted(moves, reverse=not rises)
        assert (moves[0] > 0) is rises


@given(of=st.integers(5, 60), share=st.floats(0.05, 0.6))
def test_both_wings_missing_more_alike_leave_the_gap_where_it_was(of, share, situation):
    """The usual shares of the wings differ by two in a hundred, so the same share of both says a little of the gap."""
    misses = round(share * of)
    both = [tally("rally.forehand_errors", misses, of), tally("rally.backhand_errors", misses, of)]
    one = both[1:]
    gap, alone = (mean(MODEL.believe(situation(observations=seen)), GAP) for seen in (both, one))
    assert abs(gap) < 0.12
    assert abs(gap) <= abs(alone) + 0.12


def test_swapping_the_wings_swaps_the_gap(situation):
    def gap(forehand, backhand):
        seen = [tally("rally.forehand_errors", forehand, 24), tally("rally.backhand_errors", backhand, 24)]
        return mean(MODEL.believe(situation(observations=seen)), GAP)

    assert gap(2, 10) < -0.2
    assert gap(10, 2) > 0.2
    assert gap(2, 10) == pytest.approx(-gap(10, 2), abs=0.12)


def test_one_good_ball_among_sixteen_poor_ones_changes_little(situation):
    before, after = (
        MODEL.believe(situation(observations=[tally("rally.against_high_ball", good, of, wing="backhand")]))
        for good, of in ((2, 16), (3, 17))
    )
    firm, shaken = (probability(beliefs, "weak_high_backhand", "backhand") for beliefs in (before, after))
    assert firm > 0.85
    assert firm - shaken < 0.05


@given(forehand=st.integers(0, 30), backhand=st.integers(0, 30), round_=st.integers(0, 12), middle=st.integers(0, 12))
def test_traits_of_one_posterior_never_contradict_each_other(forehand, backhand, round_, middle, situation):
    seen = [
        tally("rally.forehand_errors", forehand, 30),
        tally("rally.backhand_errors", backhand, 30),
        tally("rally.ran_round_backhand", round_, 12),
        tally("rally.middle_ball_on_forehand", middle, 12),
    ]
    beliefs = MODEL.believe(situation(observations=seen))
    wings = ("hides_backhand", "backhand"), ("backhand_is_better", "backhand"), ("two_even_wings", None)
    assert sum(probability(beliefs, *key) for key in wings) <= ROOM
    assert probability(beliefs, "flat_low_margin") + probability(beliefs, "heavy_topspin") <= ROOM


def test_every_belief_is_strictly_between_never_and_always_whatever_was_counted(situation):
    for hits in (0, 5000):
        seen = [tally(kind.id, hits, 5000, **{q: QUALIFIERS[q][0] for q in kind.qualifiers}) for kind, _ in COUNTED]
        for belief in MODEL.believe(situation(observations=seen)).all:
            assert 0 < belief.probability < 1


@pytest.mark.parametrize("rating", range(5))
def test_any_rating_moves_the_quality_its_own_way(rating, situation):
    beliefs = MODEL.believe(situation(observations=[{"what": "warmup.high_backhand", "rating": rating}]))
    move = mean(beliefs, {"high/backhand": 1.0})
    assert (move > 0.01) is (rating > 2)
    assert (move < -0.01) is (rating < 2)


def test_the_warm_up_says_less_than_the_games_and_nerves_make_it_less_still(situation):
    early, nerves = tally("warmup.backhand_made", 6, 20), {"what": "warmup.nerves", "rating": 4}
    posted = ([early, nerves], [early], [tally("rally.backhand_errors", 14, 20)])
    backhand = {"strokes": 1.0, "wing/backhand": 1.0}
    moves = [-mean(MODEL.believe(situation(observations=seen)), backhand) for seen in posted]
    assert 0 < moves[0] < moves[1] < moves[2]


def test_what_a_player_did_before_a_change_of_play_counts_less(situation):
    early = tally("net.approach", 9, 10, set=1, game=2)
    changed = {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 4}
    beliefs = (MODEL.believe(situation(observations=seen)) for seen in ([early], [early, changed]))
    plain, after = (mean(one, {"comes_in": 1.0}) for one in beliefs)
    assert 0 < after < plain


def test_the_same_balls_under_two_kinds_count_once(situation):
    fuller, other = tally("rally.ran_round_backhand", 8, 12), tally("rally.inside_out", 5, 10)
    once, twice = (MODEL.believe(situation(observations=seen)) for seen in ([fuller], [fuller, other]))
    assert [b.probability for b in twice.all] == [b.probability for b in once.all]


@pytest.mark.parametrize("level", list(Level))
def test_the_profile_says_what_was_seen_beside_what_is_usual_at_the_level(level, situation):
    asked = situation(opponent={"level": level.value}, observations=[tally("rally.backhand_errors", 24, 60)])
    beliefs = MODEL.believe(asked)
    backhand = next(one for one in MODEL.profile(beliefs) if (one.quality, one.wing) == ("wing", "backhand"))
    assert (backhand.player, backhand.what) == ("opponent", "rally.backhand_errors")
    assert (backhand.hits, backhand.chances) == (24, 60)
    assert backhand.usual == BOOK.kinds["rally.backhand_errors"].measures[0].usual[level]
    assert backhand.usual < backhand.low < backhand.estimate < backhand.high < 0.40 + 0.06


def test_our_own_record_and_ratings_make_our_own_profile(situation):
    seen = [tally("record.double_faults", 6, 11)]
    beliefs, plain = (MODEL.believe(situation(own=own, observations=seen)) for own in ({"first_serve_speed": 3}, {}))
    assert (beliefs.own.start != plain.own.start).sum() == 1
    faults = next(one for one in MODEL.profile(beliefs) if one.what == "record.double_faults")
    assert faults.player == "own"
    assert faults.estimate > faults.usual
    assert all(belief.probability == belief.prior for belief in beliefs.all)


@pytest.mark.parametrize("figure", ["weight", "slope"])
def test_an_edit_of_its_figures_moves_what_a_word_says(figure, situation):
    profile = BOOK.defaults["profile"]
    word = {**profile["word"], figure: 1.3 * float(profile["word"][figure])}
    edited = replace(BOOK, defaults={**BOOK.defaults, "profile": {**profile, "word": word}})
    seen = situation(observations=[{"what": "rally.clearance", "value": "low"}])
    loads = BOOK.kinds["rally.clearance"].measures[0].loads
    before, after = (mean(EvidenceModel(book).believe(seen), loads) for book in (BOOK, edited))
    assert abs(after / before - 1.0) > 0.01
