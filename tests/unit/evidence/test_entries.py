"""Which observations count, how much older games count, and what is counted together."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.domain.situation import Phase, Situation, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.entries import spread_text
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score

Write = Callable[..., Situation]
RUN_ROUND = {"what": "rally.ran_round_backhand", "count": 6, "of": 8}


def believed(evidence: EvidenceModel, asked: Situation) -> Beliefs:
    fmt = Format.from_wire(asked.context.get("format"))
    return evidence.believe(asked, read_score(fmt, asked.score) if asked.score else None)


def probability(beliefs: Beliefs, trait: str) -> float:
    return max(b.probability for b in beliefs.all if b.trait == trait)


def weights(beliefs: Beliefs) -> list[float]:
    return [entry.weight for entry in beliefs.entries]


@pytest.mark.parametrize("moment", ["before-match", "after-warm-up"])
def test_what_shows_in_games_only_is_refused_before_the_first_game(
    evidence: EvidenceModel, situation: Write, moment: str
) -> None:
    told = believed(evidence, situation(moment=moment, observations=[RUN_ROUND]))
    assert told.refused[0].startswith("wrong phase: this can only be seen in games")
    assert probability(told, "hides_backhand") == pytest.approx(0.27)


def test_what_shows_in_the_warm_up_is_refused_before_it(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "warmup.low_forehand", "rating": 1}]
    told = believed(evidence, situation(moment="before-match", observations=seen))
    assert told.refused[0].startswith("wrong phase: this can only be seen in the warm-up")


def test_the_warm_up_still_counts_during_the_match_as_warm_up(evidence: EvidenceModel, situation: Write) -> None:
    told = believed(evidence, situation(observations=[{"what": "warmup.low_forehand", "rating": 1}]))
    assert [entry.phase for entry in told.entries] == [Phase.WARM_UP]


def test_a_profile_that_says_what_no_evidence_reads_moves_nothing(evidence: EvidenceModel, situation: Write) -> None:
    plain = believed(evidence, situation()).all
    assert believed(evidence, situation(opponent={"height_class": "giant"})).all == plain
    assert believed(evidence, situation(opponent={"height_class": "tall"})).all != plain


@pytest.mark.parametrize("context", [{"wind": "strong"}, {"wind": "moderate"}, {"sun": "north"}, {"sun": "both"}])
def test_in_wind_or_sun_a_count_without_its_end_moves_nothing(
    evidence: EvidenceModel, situation: Write, context: dict[str, Any]
) -> None:
    errors = {"what": "rally.backhand_errors", "count": 12, "of": 20}
    told = believed(evidence, situation(context=context, observations=[errors]))
    plain = believed(evidence, situation(context=context))
    assert told.refused[0].startswith("no end")
    assert told.all == plain.all


@pytest.mark.parametrize("context", [{}, {"wind": "light"}, {"wind": "none", "sun": "none"}])
def test_on_a_calm_day_no_end_is_asked_for(evidence: EvidenceModel, situation: Write, context: dict[str, Any]) -> None:
    errors = {"what": "rally.backhand_errors", "count": 12, "of": 20}
    told = believed(evidence, situation(context=context, observations=[errors]))
    assert told.refused == {}
    assert probability(told, "hides_backhand") > 0.30


def test_wind_unsettles_only_when_one_end_is_worse_than_the_other(evidence: EvidenceModel, situation: Write) -> None:
    def errors(north: int, south: int) -> Beliefs:
        ends = (("north", north), ("south", south))
        seen = [{"what": "rally.forehand_errors", "count": n, "of": 20, "end": end} for end, n in ends]
        return believed(evidence, situation(context={"wind": "strong"}, observations=seen))

    assert probability(errors(9, 2), "unsettled_by_conditions") > 0.40
    assert probability(errors(9, 9), "unsettled_by_conditions") < 0.30
    assert probability(errors(2, 9), "unsettled_by_conditions") == pytest.approx(
        probability(errors(9, 2), "unsettled_by_conditions")
    )


def test_a_count_of_no_chances_and_a_note_are_kept_but_not_weighed(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "rally.ran_round_backhand", "count": 0, "of": 0}, {"what": "record.last_points", "value": "WLL"}]
    told = believed(evidence, situation(observations=seen))
    assert told.refused == {0: "no chances seen"}
    assert [entry.observation.index for entry in told.entries] == []


@pytest.mark.parametrize(
    ("score", "where", "games_ago"),
    [
        ({"sets": [], "games": [3, 2]}, {"set": 1, "game": 5}, 0),
        ({"sets": [], "games": [3, 2]}, {"set": 1, "game": 3}, 2),
        ({"sets": [[6, 4]], "games": [2, 1]}, {"set": 1, "game": 6}, 7),
        ({"sets": [[6, 4]], "games": [2, 1]}, {"set": 2, "game": 1}, 2),
        ({"sets": [[7, 6]], "games": [0, 0]}, {"set": 1, "game": 12}, 1),
        ({"sets": [[6, 7]], "games": [1, 0]}, {"set": 1, "game": 13}, 1),
        ({"sets": [[7, 6], [3, 6]], "games": [1, 1]}, {"set": 1, "game": 13}, 11),
        ({"sets": [], "games": [1, 0]}, {"set": 1, "game": 9}, 0),  # dated after the score: as of now
    ],
)
def test_a_games_entry_loses_half_its_weight_every_five_games(
    evidence: EvidenceModel, situation: Write, score: dict[str, Any], where: dict[str, int], games_ago: int
) -> None:
    full = {**score, "points": ["0", "0"], "server": "own"}
    told = believed(evidence, situation(score=full, observations=[{**RUN_ROUND, **where}]))
    assert weights(told) == pytest.approx([2 ** (-games_ago / 5)])


def test_without_a_score_games_age_against_the_latest_that_was_dated(evidence: EvidenceModel, situation: Write) -> None:
    dates = ({"set": 1, "game": 2}, {"set": 2, "game": 3}, {"set": 2, "game": 1}, {})
    seen = [{**RUN_ROUND, **where} for where in dates]
    told = believed(evidence, situation(observations=seen))
    # nine games are assumed in the first set
    assert weights(told) == pytest.approx([2 ** (-10 / 5), 1.0, 2 ** (-2 / 5), 1.0])


def test_a_habit_of_a_set_ago_weighs_less_than_the_same_habit_now(evidence: EvidenceModel, situation: Write) -> None:
    score = {"sets": [[6, 4]], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    old, fresh = (
        probability(believed(evidence, situation(score=score, observations=[{**RUN_ROUND, **where}])), "hides_backhand")
        for where in ({"set": 1, "game": 2}, {"set": 2, "game": 7})
    )
    assert 0.30 < old < fresh


def test_hand_grip_and_backhand_type_never_age(evidence: EvidenceModel, situation: Write) -> None:
    score = {"sets": [[6, 4], [4, 6]], "games": [5, 4], "points": ["0", "0"], "server": "own"}
    opponent = {"backhand_type": "slice", "forehand_grip": "extreme", "handedness": "left"}
    late = believed(evidence, situation(score=score, opponent=opponent))
    early = believed(evidence, situation(moment="before-match", opponent=opponent))
    assert late.all == early.all
    assert probability(late, "slice_backhand_only") > 0.12


def test_the_warm_up_never_ages(evidence: EvidenceModel, situation: Write) -> None:
    score = {"sets": [[6, 4]], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    seen = [{"what": "warmup.ran_round_backhand", "count": 4, "of": 5}]
    told = believed(evidence, situation(score=score, observations=seen))
    assert weights(told) == [1.0]


def test_what_earlier_matches_taught_stands_in_the_place_of_the_prior(
    evidence: EvidenceModel, situation: Write
) -> None:
    seen = [{"what": "rally.ran_round_backhand", "count": 6, "of": 10, "set": 1, "game": 2}]
    fresh = situation(observations=seen)
    taught = replace(fresh, priors={"hides_backhand/backhand": 0.6, "weak_low_ball/forehand": 0.7})
    before, after = (evidence.believe(one).by_key for one in (fresh, taught))
    assert after["hides_backhand", Wing.BACKHAND].prior == 0.6
    assert after["hides_backhand", Wing.BACKHAND].probability > before["hides_backhand", Wing.BACKHAND].probability
    assert after["weak_low_ball", Wing.FOREHAND].probability == 0.7
    assert after["weak_low_ball", Wing.BACKHAND] == before["weak_low_ball", Wing.BACKHAND]


# Dates in part --------------------------------------------------------------------------------------------------------


SECOND_SET = {"sets": [[6, 4]], "games": [3, 1], "points": ["0", "0"], "server": "own"}


@pytest.mark.parametrize(
    ("where", "games_ago"),
    [
        ({"game": 2}, 2),  # of the set being played
        ({"set": 1}, 4),  # by the end of that set
        ({"set": 2}, 0),
        ({}, 0),
    ],
)
def test_with_a_score_the_rest_of_the_date_is_that_of_the_set_in_play_or_its_last_game(
    evidence: EvidenceModel, situation: Write, where: dict[str, int], games_ago: int
) -> None:
    asked = situation(score=SECOND_SET, observations=[{**RUN_ROUND, **where}])
    (entry,) = evidence.believe(asked, read_score(Format.from_wire(None), asked.score)).entries
    assert entry.weight == pytest.approx(2 ** (-games_ago / 5))


def ages(evidence: EvidenceModel, situation: Write, *dates: dict[str, Any]) -> list[float]:
    asked = situation(observations=[{**RUN_ROUND, **where} for where in dates])
    return [entry.weight for entry in evidence.believe(asked).entries]


def test_without_a_score_a_game_alone_is_of_the_first_set(evidence: EvidenceModel, situation: Write) -> None:
    """Game 4 of the first set is eight games before game 3 of the second, as nine games are assumed in a set."""
    told = ages(evidence, situation, {"game": 4}, {"set": 2, "game": 3})
    assert told == pytest.approx([2 ** (-8 / 5), 1.0])


def test_without_a_score_a_set_alone_is_its_beginning(evidence: EvidenceModel, situation: Write) -> None:
    told = ages(evidence, situation, {"set": 2}, {"set": 2, "game": 3})
    assert told == pytest.approx([2 ** (-3 / 5), 1.0])


def test_the_latest_game_may_be_one_dated_in_part(evidence: EvidenceModel, situation: Write) -> None:
    told = ages(evidence, situation, {"game": 6}, {"set": 1, "game": 2})
    assert told == pytest.approx([1.0, 2 ** (-4 / 5)])


# Counted together -----------------------------------------------------------------------------------------------------


LOW = {"what": "rally.against_low_ball", "of": 6}


def test_the_same_kind_on_another_wing_is_a_pool_of_its_own(evidence: EvidenceModel, situation: Write) -> None:
    posted = [{**LOW, "count": 2, "wing": "forehand"}, {**LOW, "count": 5, "wing": "backhand"}]
    again = {**LOW, "count": 1, "wing": "forehand"}
    pools = evidence.believe(situation(observations=[*posted, again])).pools["rally.against_low_ball"]
    places = {pool.wing: [entry.observation.index for entry in pool.entries] for pool in pools}
    assert places == {Wing.FOREHAND: [0, 2], Wing.BACKHAND: [1]}


def test_a_pool_is_told_in_the_counts_that_were_posted(evidence: EvidenceModel, situation: Write) -> None:
    posted = [{**LOW, "count": n, "wing": "forehand", "set": 1, "game": n} for n in (1, 3)]
    (pool,) = evidence.believe(situation(observations=posted)).pools["rally.against_low_ball"]
    _, term = evidence.moved_by("rally.against_low_ball")[0]
    counted = pool.counted(term)
    assert counted is not None
    assert (counted.places, counted.chances) == ((0, 1), 12)
    assert counted.text.endswith("(forehand): 4 of 12")


def test_options_never_seen_are_not_told() -> None:
    assert spread_text({"wide": 6, "body": 0, "T": 1}) == "wide 6, T 1"
    assert spread_text({"wide": 0}) == "none"
