"""What one more look could show: chances that sum to 1, that part the traits, and that fall with counts."""

from collections.abc import Callable
from typing import Any, NamedTuple

import pytest

from tacticapi.domain.rules import Rulebook, TraitKey
from tacticapi.domain.situation import Phase, Situation, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.next_observation import Look, NextObservations, Outcomes

Write = Callable[..., Situation]
ALL = (Phase.WARM_UP, Phase.GAMES)


@pytest.fixture(scope="module")
def looks(rulebook: Rulebook, evidence: EvidenceModel) -> NextObservations:
    return NextObservations(rulebook, evidence)


class One(NamedTuple):
    """One look and trait."""

    look: Look
    key: TraitKey
    p_if_true: list[float]
    p_if_false: list[float]
    tells: float


def listed(given: Outcomes) -> list[One]:
    looks = [given.looks[place] for place in given.look.tolist()]
    assert sorted(given.look.tolist()) == given.look.tolist()
    columns = (given.p_if_true.tolist(), given.p_if_false.tolist(), given.tells.tolist())
    return [One(*one) for one in zip(looks, given.keys, *columns, strict=True)]


def found(looks: NextObservations, evidence: EvidenceModel, asked: Situation, *phases: Phase) -> list[One]:
    beliefs = evidence.believe(asked)
    return listed(looks.outcomes(beliefs, phases or ALL, list(beliefs.by_key), ()))


def of(kind: str, trait: str, given: list[One], wing: Wing | None = None) -> One:
    return next(one for one in given if (one.look.kind.id, one.key[0], one.look.wing) == (kind, trait, wing))


def test_the_outcomes_of_every_look_sum_to_one(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    given = found(looks, evidence, situation())
    assert len(given) > 200
    for one in given:
        assert sum(one.p_if_true) == pytest.approx(1, abs=1e-6)
        assert sum(one.p_if_false) == pytest.approx(1, abs=1e-6)
        assert 0 <= one.tells <= 1


def test_a_look_at_a_weakness_shows_more_misses_if_it_is_there(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    given = found(looks, evidence, situation(), Phase.GAMES)
    one = of("rally.against_high_ball", "weak_high_backhand", given, Wing.BACKHAND)
    handled = [sum(n * p for n, p in enumerate(chances)) for chances in (one.p_if_true, one.p_if_false)]
    assert len(one.p_if_true) >= 7
    assert handled[0] < handled[1]


def test_a_question_that_was_answered_has_less_to_tell(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    seen = [{"what": "rally.against_high_ball", "count": 12, "of": 40, "wing": "backhand"}]
    key = ("rally.against_high_ball", "weak_high_backhand")
    before, after = (
        of(*key, found(looks, evidence, situation(observations=posted), Phase.GAMES), Wing.BACKHAND)
        for posted in ([], seen)
    )
    assert after.tells < before.tells


def test_a_kind_that_was_rated_four_times_has_no_more_to_say(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    rated = {"what": "warmup.high_backhand", "rating": 1}
    for times, there in ((3, True), (4, False)):
        given = found(looks, evidence, situation(observations=[rated] * times))
        assert any(one.look.kind.id == "warmup.high_backhand" for one in given) is there


def test_nobody_is_asked_to_look_at_health_or_at_themselves(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    for one in found(looks, evidence, situation()):
        assert not one.look.kind.health
        assert one.look.kind.subject not in ("own", "record", "plan", "context")


def test_only_what_can_still_be_seen_is_looked_at(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    assert all(Phase.GAMES in one.look.kind.phases for one in found(looks, evidence, situation(), Phase.GAMES))


def test_only_the_traits_that_are_wanted_are_looked_for(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    beliefs = evidence.believe(situation())
    given = looks.outcomes(beliefs, ALL, [("serve_predictable", None), ("weak_forehand", Wing.FOREHAND)], ())
    assert {trait for trait, _ in given.keys} == {"serve_predictable", "weak_forehand"}
    nothing = looks.outcomes(beliefs, ALL, [], ())
    assert not len(nothing.look)
    assert nothing.p_if_true.shape == nothing.p_if_false.shape == (0, nothing.p_if_true.shape[1])


def test_what_is_known_needs_no_look(looks: NextObservations, evidence: EvidenceModel, situation: Write) -> None:
    beliefs = evidence.believe(situation())
    for gone, there in (([], True), (["opponent.backhand_type"], False)):
        given = looks.outcomes(beliefs, (Phase.BEFORE, *ALL), list(beliefs.by_key), gone)
        assert any(look.kind.id == "opponent.backhand_type" for look in given.looks) is there


def test_practice_serves_bring_fewer_chances_than_serves_of_games(
    looks: NextObservations, evidence: EvidenceModel, situation: Write
) -> None:
    given = found(looks, evidence, situation())
    warm_up, games = (
        of(kind, "serve_predictable", given).look for kind in ("warmup.serve_spots", "serve.ad_court_spots")
    )
    assert 1 <= warm_up.chances < games.chances / 2


@pytest.mark.parametrize("counts", [{"wide": 0, "body": 0, "T": 0}, {"wide": 9, "body": 2, "T": 1}])
def test_serves_to_the_likeliest_spot_speak_for_a_favourite(
    looks: NextObservations, evidence: EvidenceModel, situation: Write, counts: dict[str, Any]
) -> None:
    seen = [{"what": "serve.ad_court_spots", "counts": counts}] if sum(counts.values()) else []
    one = of(
        "serve.ad_court_spots", "serve_predictable", found(looks, evidence, situation(observations=seen), Phase.GAMES)
    )
    there, not_there = (sum(n * p for n, p in enumerate(c)) for c in (one.p_if_true, one.p_if_false))
    assert there > not_there
