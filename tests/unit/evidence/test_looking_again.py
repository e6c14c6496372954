"""What another look at the same thing may show: only what was seen of its own wing and court counts."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest
from scipy.stats import betabinom

from tacticapi.domain.look import Predictive
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Phase, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.next_observation import NextObservation, NextObservations, predict_spread, wing_to_watch

Write = Callable[..., Situation]
GAMES = (Phase.GAMES,)
CHANCES = 6  # that a look in games brings: a model default
LOW = {"what": "rally.against_low_ball", "count": 2, "of": 6}


@pytest.fixture
def prospects(rulebook: Rulebook) -> NextObservations:
    keys = [(trait.id, wing) for trait in rulebook.traits.values() for wing in trait.wings]
    return NextObservations(rulebook, EvidenceModel(rulebook), keys)


def look_at(prospects: NextObservations, what: str, trait: str, wing: Wing | None, form: TermForm) -> NextObservation:
    return next(
        look
        for look in prospects.to_come(GAMES)
        if (look.kind.id, look.unseen.trait, look.unseen.wing, look.term.form) == (what, trait, wing, form)
    )


def after(
    prospects: NextObservations, look: NextObservation, rulebook: Rulebook, asked: Situation
) -> Predictive | None:
    return prospects.now(look, EvidenceModel(rulebook).believe(asked).pools)


def test_balls_to_the_other_wing_change_nothing(
    prospects: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(prospects, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    assert after(prospects, look, rulebook, situation(observations=[{**LOW, "wing": "backhand"}])) == look.unseen
    assert after(prospects, look, rulebook, situation(observations=[])) == look.unseen


def test_balls_to_the_same_wing_are_counted_in(
    prospects: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(prospects, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    again = after(prospects, look, rulebook, situation(observations=[{**LOW, "wing": "forehand"}]))
    assert again is not None
    assert (again.what, again.key, again.on_wing) == (look.kind.id, ("weak_low_ball", Wing.FOREHAND), Wing.FOREHAND)
    assert_shares(again, look.term, hits=2, of=6)


def assert_shares(told: Predictive, term: Term, hits: float, of: float) -> None:
    for outcomes, share in ((told.holds, term.holds), (told.fails, term.fails)):
        a, b = share * term.kappa + hits, (1 - share) * term.kappa + of - hits
        assert outcomes == pytest.approx(betabinom.pmf(range(CHANCES + 1), CHANCES, a, b))


def test_of_a_split_only_the_options_that_speak_for_the_trait_are_hits(
    prospects: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    """Lobs and slices both speak for a backhand that is only sliced."""
    look = look_at(prospects, "passing.backhand_pass", "slice_backhand_only", Wing.BACKHAND, TermForm.SHARES)
    assert set(look.term.options) == {"slice", "lob"}
    seen = [{"what": "passing.backhand_pass", "counts": {"drive": 1, "slice": 3, "lob": 2}}]
    again = after(prospects, look, rulebook, situation(observations=seen))
    assert again is not None
    assert_shares(again, look.term, hits=5, of=6)


def test_spots_seen_tell_which_is_the_favourite(
    prospects: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(prospects, "serve.deuce_court_spots", "serve_predictable", None, TermForm.FAVOURITE)
    assert len(look.again) == len(look.kind.options) == 3
    seen = [{"what": look.kind.id, "counts": {"wide": 5, "T": 1}}]
    again = after(prospects, look, rulebook, situation(observations=seen))
    assert again is not None
    assert look.kind.options == ("wide", "body", "T")
    expected = predict_spread(look.term.holds, look.term.kappa, look.term.base, (5.0, 0.0, 1.0), CHANCES)
    assert (again.holds, again.fails) == expected


@pytest.mark.parametrize(("ratings", "more"), [(1, True), (3, True), (4, False)])
def test_up_to_three_ratings_leave_a_fourth_to_say_as_much(
    *, prospects: NextObservations, rulebook: Rulebook, situation: Write, ratings: int, more: bool
) -> None:
    look = look_at(prospects, "serve.second_serve_pace", "soft_second_serve", None, TermForm.TABLE)
    assert [(o.holds, o.fails) for o in look.again] == [(look.unseen.holds, look.unseen.fails)]
    seen = [{"what": look.kind.id, "rating": 1}] * ratings
    again = after(prospects, look, rulebook, situation(observations=seen))
    assert again == (look.unseen if more else None)


def test_what_was_seen_on_the_other_court_changes_nothing(
    prospects: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(prospects, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    of_deuce = replace(look, term=replace(look.term, court="deuce"))
    for court, changed in (("ad", False), ("deuce", True)):
        asked = situation(observations=[{**LOW, "wing": "forehand", "court": court}])
        assert (after(prospects, of_deuce, rulebook, asked) != look.unseen) is changed


def test_a_look_brings_four_chances_in_the_warm_up_and_six_in_games(prospects: NextObservations) -> None:
    phases: Sequence[tuple[tuple[Phase, ...], int]] = [((Phase.WARM_UP, Phase.GAMES), 4), (GAMES, 6)]
    for to_come, chances in phases:
        looks = [look for look in prospects.to_come(to_come) if to_come[0] in look.kind.phases]
        assert {look.chances for look in looks} == {chances}


def test_only_the_traits_that_are_wanted_are_looked_for(rulebook: Rulebook, evidence: EvidenceModel) -> None:
    wanted: list[Any] = [("weak_low_ball", Wing.FOREHAND), ("serve_predictable", None)]
    looks = NextObservations(rulebook, evidence, wanted).to_come(GAMES)
    assert {(look.unseen.trait, look.unseen.wing) for look in looks} == set(wanted)


def test_no_look_is_asked_to_compare_the_two_ends(prospects: NextObservations) -> None:
    assert TermForm.ENDS not in {look.term.form for look in prospects.to_come(GAMES)}


@pytest.mark.parametrize(
    ("reads", "of", "on"),
    [
        (None, Wing.FOREHAND, None),
        ("same", Wing.FOREHAND, Wing.FOREHAND),
        ("same", None, None),
        ("other", Wing.FOREHAND, Wing.BACKHAND),
        ("other", None, None),
        ("backhand", Wing.FOREHAND, Wing.BACKHAND),
        ("forehand", None, Wing.FOREHAND),
    ],
)
def test_on_which_wing_to_look(reads: str | None, of: Wing | None, on: Wing | None) -> None:
    assert wing_to_watch(Term("some.kind", TermForm.SHARES, "strong", wing=reads), of) == on
