"""Which observations count, what a change of play leaves of them, and what is counted together."""

import pytest

from tacticapi.domain.situation import Phase, Wing
from tacticapi.evidence.entries import pools_of, spread_text

from ...builders import tally

RUN_ROUND = tally("rally.ran_round_backhand", 6, 8)


@pytest.mark.parametrize(
    ("moment", "seen", "phase"),
    [
        ("before-match", RUN_ROUND, "games"),
        ("after-warm-up", RUN_ROUND, "games"),
        ("before-match", {"what": "warmup.low_forehand", "rating": 1}, "the warm-up"),
    ],
)
def test_what_shows_later_is_refused_and_the_warm_up_still_counts_as_warm_up(evidence, situation, moment, seen, phase):
    told = evidence.believe(situation(moment=moment, observations=[seen]))
    assert told.refused[0].startswith(f"wrong phase: this can only be seen in {phase}")
    assert all(belief.probability == belief.prior for belief in told.all)
    if phase == "the warm-up":
        later = evidence.believe(situation(observations=[seen]))
        assert [entry.phase for entry in later.entries] == [Phase.WARM_UP]


@pytest.mark.parametrize(
    ("context", "calm"),
    [
        *((context, True) for context in ({}, {"wind": "light"}, {"wind": "none", "sun": "none"})),
        *(({"wind": wind}, False) for wind in ("strong", "moderate")),
        *(({"sun": end}, False) for end in ("north", "both")),
    ],
)
def test_in_wind_or_sun_a_count_without_its_end_moves_nothing(evidence, situation, context, calm):
    told = evidence.believe(situation(context=context, observations=[tally("rally.backhand_errors", 12, 20)]))
    assert [why[:6] for why in told.refused.values()] == ([] if calm else ["no end"])
    assert (told.all != evidence.believe(situation(context=context)).all) is calm


def current(evidence, situation, *posted):
    told = evidence.believe(situation(observations=list(posted)))
    return [entry.current for entry in told.entries]


def test_nothing_ages_inside_a_match(evidence, situation):
    early, late = (evidence.believe(situation(observations=[{**RUN_ROUND, "set": n, "game": 2}])).all for n in (1, 3))
    assert [belief.probability for belief in early] == [belief.probability for belief in late]


def test_a_change_of_play_that_was_posted_opens_a_new_window_for_habits(evidence, situation):
    changed = {"what": "conduct.change_of_play", "seen": True, "set": 1, "game": 4}
    errors = tally("rally.backhand_errors", 3, 12)
    before, after = {"set": 1, "game": 3}, {"set": 1, "game": 4}
    posted = [{**RUN_ROUND, **before}, {**RUN_ROUND, **after}, {**errors, **before}, RUN_ROUND, changed]
    assert current(evidence, situation, *posted) == [False, True, True, True, True]


def test_a_change_that_is_detected_opens_a_new_window_for_the_kind_that_changed(evidence, situation):
    games = [tally("net.approach", n, 8, set=1, game=g) for g, n in enumerate((7, 8, 7, 0, 1), 1)]
    other = {**RUN_ROUND, "set": 1, "game": 1}
    told = evidence.believe(situation(observations=[*games, other]))
    assert [shift.what for shift in told.shifts] == ["net.approach"]
    assert [entry.current for entry in told.entries] == [False, False, False, True, True, True]


LOW = {"what": "rally.against_low_ball", "of": 6}


def pools(evidence, rulebook, asked):
    return list(pools_of(evidence.believe(asked).entries, rulebook.kinds))


def test_the_same_kind_on_another_wing_is_a_pool_of_its_own(evidence, rulebook, situation):
    posted = [{**LOW, "count": n, "wing": wing} for n, wing in ((2, "forehand"), (5, "backhand"), (1, "forehand"))]
    found = pools(evidence, rulebook, situation(observations=posted))
    assert {pool.wing: pool.places for pool in found} == {Wing.FOREHAND: (0, 2), Wing.BACKHAND: (1,)}


def test_a_pool_is_told_in_the_counts_that_were_posted(evidence, rulebook, situation):
    posted = [{**LOW, "count": n, "wing": "forehand", "set": 1, "game": n} for n in (1, 3)]
    (pool,) = pools(evidence, rulebook, situation(observations=posted))
    assert (pool.places, pool.chances) == ((0, 1), 12)
    assert pool.text.endswith("(forehand): 4 of 12")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"what": "warmup.high_backhand", "rating": 1}, "rated 1 of 4"),
        ({"what": "tempo.time_between_points", "amount": 38}, "38 s"),
        ({"what": "rally.clearance", "value": "low"}, "low"),
        ({"what": "serve.late_serve_drop", "seen": True}, "seen"),
        ({"what": "serve.late_serve_drop", "seen": False}, "not seen"),
        ({"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 0, "T": 1}}, "wide 6, T 1"),
    ],
)
def test_what_was_seen_is_told_in_the_words_of_a_person(evidence, rulebook, situation, said, words):
    (pool,) = pools(evidence, rulebook, situation(observations=[said]))
    assert pool.text.endswith(f": {words}")
    assert spread_text({"wide": 0}) == "none"
