"""What is counted together: one kind, phase, wing and serve."""

from collections.abc import Callable

from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.entries import spread_text

Write = Callable[..., Situation]
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
