"""What moves a belief, families of evidence, and traits that exclude each other."""

from collections.abc import Callable
from dataclasses import replace
from math import log
from typing import Any

import pytest

from tacticapi.domain.reasoning import Belief, Contribution
from tacticapi.domain.rules import Rulebook, Term, TermForm, Trait, WingRule
from tacticapi.domain.situation import Observation, Phase, Situation, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel, exclusive, family_weighted
from tacticapi.evidence.entries import Entry, Pool, counted_text
from tacticapi.evidence.likelihood import Finding, Weights, ends_log_odds, findings, share_log_odds
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score

Write = Callable[..., Situation]


def test_the_ceiling_leaves_the_others_of_a_group_in_their_proportion() -> None:
    """0.5 x 18 : 0.3 : 0.2 is 90 : 3 : 2; held at 0.8, the rest of 0.2 goes 3 : 2 to the second and to neither."""
    assert exclusive([0.5, 0.3], [(log(18), 0.0), (0.0, 0.0)], 0.8) == pytest.approx([0.8, 0.12])
    assert exclusive([0.3, 0.5], [(0.0, 0.0), (log(18), 0.0)], 0.8) == pytest.approx([0.12, 0.8])


def test_a_prior_above_the_ceiling_is_not_pulled_down_by_it() -> None:
    assert exclusive([0.9], [(3.0, 0.0)], 0.8) == pytest.approx([0.9])
    assert exclusive([0.9], [(-log(9), 0.0)], 0.8) == pytest.approx([0.5])


def contributions(evidence: EvidenceModel, asked: Situation, trait: str, what: str) -> list[Contribution]:
    return [
        c
        for belief in evidence.believe(asked).all
        if belief.trait == trait
        for c in belief.contributions
        if c.what == what
    ]


# The two ends ------------------------------------------------------------------------------------------------------


def errors(*ends: tuple[str, int, int]) -> list[dict[str, Any]]:
    return [{"what": "rally.forehand_errors", "count": n, "of": of, "end": end} for end, n, of in ends]


def ends_told(evidence: EvidenceModel, seen: Situation) -> list[Contribution]:
    return contributions(evidence, seen, "unsettled_by_conditions", "rally.forehand_errors")


def test_the_two_ends_are_weighed_against_each_other(evidence: EvidenceModel, situation: Write) -> None:
    asked = situation(
        context={"wind": "strong"}, observations=errors(("north", 9, 20), ("south", 1, 6), ("south", 1, 14))
    )
    (told,) = ends_told(evidence, asked)
    assert told.log_odds == pytest.approx(ends_log_odds((9, 20), (2, 20), 0.29, 0.18))
    assert (told.chances, told.observations) == (40, (0, 1, 2))


def test_a_single_stroke_at_each_end_is_weighed_already(evidence: EvidenceModel, situation: Write) -> None:
    (told,) = ends_told(evidence, situation(observations=errors(("north", 1, 1), ("south", 0, 1))))
    assert told.log_odds == pytest.approx(ends_log_odds((1, 1), (0, 1), 0.29, 0.18))


@pytest.mark.parametrize("end", ["north", "south"])
def test_one_end_alone_is_no_evidence_of_conditions(evidence: EvidenceModel, situation: Write, end: str) -> None:
    assert ends_told(evidence, situation(observations=errors((end, 9, 20)))) == []


def test_strokes_at_an_end_that_nobody_noted_say_nothing_of_the_ends(evidence: EvidenceModel, situation: Write) -> None:
    somewhere = {"what": "rally.forehand_errors", "count": 5, "of": 6}
    (told,) = ends_told(evidence, situation(observations=[*errors(("north", 9, 20), ("south", 2, 20)), somewhere]))
    assert told.log_odds == pytest.approx(ends_log_odds((9, 20), (2, 20), 0.29, 0.18))


# Splits and plain counts -------------------------------------------------------------------------------------------


def test_a_plain_count_of_two_options_is_of_the_first_and_an_option_left_out_was_not_seen(
    evidence: EvidenceModel, situation: Write
) -> None:
    """2 of 5 smashes across, then a split of 3 across and none elsewhere: 5 of 8."""
    what = "net.smash_direction"
    seen = [
        {"what": what, "count": 2, "of": 5, "wing": "backhand"},
        {"what": what, "counts": {"across": 3}, "wing": "backhand"},
    ]
    (told,) = contributions(evidence, situation(observations=seen), "smash_goes_cross", what)
    assert told.log_odds == pytest.approx(share_log_odds(5, 8, 0.7, 0.56, 12))
    assert (told.chances, told.observations) == (8, (0, 1))
    other = [{"what": what, "counts": {"other": 4}, "wing": "backhand"}]
    (against,) = contributions(evidence, situation(observations=other), "smash_goes_cross", what)
    assert against.log_odds == pytest.approx(share_log_odds(0, 4, 0.7, 0.56, 12))


def test_a_split_in_which_nothing_was_counted_says_nothing(evidence: EvidenceModel, situation: Write) -> None:
    for what, trait, option in (
        ("passing.backhand_pass", "slice_backhand_only", "lob"),
        ("serve.deuce_court_spots", "serve_predictable", "wide"),
    ):
        none, one = (situation(observations=[{"what": what, "counts": {option: n}}]) for n in (0, 1))
        assert contributions(evidence, none, trait, what) == []
        assert len(contributions(evidence, one, trait, what)) == 1


def pool_of(rulebook: Rulebook, what: str, *seen: Observation, wing: Wing | None = None) -> Pool:
    pool = Pool(rulebook.kinds[what], Phase.GAMES, wing, None)
    pool.entries += [Entry(one, Phase.GAMES, 1.0) for one in seen]
    return pool


def read(term: Term, pool: Pool) -> list[Finding]:
    return findings(term, None, [pool], Weights(4, 4))


def test_a_plain_count_of_three_options_is_of_none_of_them(rulebook: Rulebook) -> None:
    what = "return.return_swing"
    term = Term(what, TermForm.SHARES, "strong", p_if_true=0.7, p_if_false=0.4, kappa=12.0, options=("drive",))
    plain = Observation(index=0, what=what, way=Way.COUNT, count=4, of=5)
    split = Observation(index=1, what=what, way=Way.COUNTS, counts={"drive": 2, "block": 1})
    (told,) = read(term, pool_of(rulebook, what, plain, split))
    assert (told.observations, told.chances) == ((1,), 3)
    assert told.log_odds == pytest.approx(share_log_odds(2, 3, 0.7, 0.4, 12))
    assert read(term, pool_of(rulebook, what, plain)) == []


def test_a_term_without_options_reads_plain_counts_alone_whoever_has_read_the_pool_before(rulebook: Rulebook) -> None:
    what = "return.return_swing"
    with_options = Term(what, TermForm.SHARES, "strong", p_if_true=0.7, p_if_false=0.4, kappa=12.0, options=("drive",))
    without = replace(with_options, options=())
    plain = Observation(index=0, what=what, way=Way.COUNT, count=4, of=5)
    split = Observation(index=1, what=what, way=Way.COUNTS, counts={"drive": 2, "block": 1})
    pool = pool_of(rulebook, what, plain, split)
    for term, counted in ((with_options, (2, 3)), (without, (4, 5)), (with_options, (2, 3))):
        (told,) = read(term, pool)
        assert told.log_odds == pytest.approx(share_log_odds(*counted, 0.7, 0.4, 12))


def test_terms_of_either_court_read_their_own_counts_from_one_pool(rulebook: Rulebook) -> None:
    what = "rally.ran_round_backhand"
    seen = [
        Observation(index=n, what=what, way=Way.COUNT, count=hits, of=of, court=court)
        for n, (court, hits, of) in enumerate([("deuce", 1, 4), ("ad", 3, 5)])
    ]
    pool = pool_of(rulebook, what, *seen)
    any_court = Term(what, TermForm.SHARES, "strong", p_if_true=0.6, p_if_false=0.3, kappa=12.0)
    for court, hits, of in (("deuce", 1, 4), ("ad", 3, 5), (None, 4, 9)):
        (told,) = read(replace(any_court, court=court), pool)
        assert told.log_odds == pytest.approx(share_log_odds(hits, of, 0.6, 0.3, 12))
        assert told.chances == of
        assert told.text == f"{pool.kind.says}: {hits} of {of}"


@pytest.mark.parametrize(
    ("what", "wing", "words"),
    [
        ("rally.against_low_ball", None, ": drive 5, slice 1"),
        ("rally.against_low_ball", Wing.BACKHAND, " (backhand): drive 5, slice 1"),
        ("passing.backhand_pass", Wing.BACKHAND, ": drive 5, slice 1"),  # the kind names the wing
    ],
)
def test_splits_are_told_summed_over_all_entries(rulebook: Rulebook, what: str, wing: Wing | None, words: str) -> None:
    counts: list[dict[str, float]] = [{"drive": 2, "slice": 1}, {"drive": 3, "lob": 0}]
    seen = [Observation(index=n, what=what, way=Way.COUNTS, counts=one, wing=wing) for n, one in enumerate(counts)]
    kind = rulebook.kinds[what]
    assert counted_text(kind, pool_of(rulebook, what, *seen).entries) == kind.says + words


# When, and what of the day -----------------------------------------------------------------------------------------


def test_a_warm_up_that_was_dated_does_not_age_either(evidence: EvidenceModel, situation: Write) -> None:
    score = {"sets": [[6, 4]], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    seen = [{"what": "warmup.ran_round_backhand", "count": 4, "of": 5, "set": 1, "game": 1}]
    asked = situation(score=score, observations=seen)
    (entry,) = evidence.believe(asked, read_score(Format.from_wire(None), asked.score)).entries
    assert entry.weight == 1.0


def test_a_warning_sign_counts_before_the_match_too(evidence: EvidenceModel, situation: Write) -> None:
    asked = situation(moment="before-match", observations=[{"what": "physical.warning_sign", "seen": True}])
    told = evidence.believe(asked)
    assert told.refused == {}
    assert [entry.phase for entry in told.entries] == [Phase.BEFORE]


def test_a_rulebook_may_let_the_day_speak_for_a_trait(rulebook: Rulebook, situation: Write) -> None:
    """Prior 0.3, three times as likely on clay with the trait as without it: 0.9 to 0.7."""
    table = {"clay": (0.6, 0.2), "hard": (0.4, 0.8)}
    term = Term("context.surface", TermForm.TABLE, "strong", table=table)
    small = replace(rulebook, traits={"grinds": Trait("grinds", "g", "g", WingRule.NONE, 0.3, (term,))})
    (told,) = EvidenceModel(small).believe(situation(context={"surface": "clay"})).all
    assert told.probability == pytest.approx(0.9 / 1.6)
    assert [(c.what, c.phase, c.text) for c in told.contributions] == [
        ("context.surface", Phase.BEFORE, f"{rulebook.kinds['context.surface'].says}: clay")
    ]


# Families and exclusive traits ----------------------------------------------------------------------------------------


def belief(evidence: EvidenceModel, asked: Situation, trait: str, wing: Wing | None = None) -> Belief:
    return next(b for b in evidence.believe(asked).all if (b.trait, b.wing) == (trait, wing))


def finding(evidence: EvidenceModel, log_odds: float, phase: Phase = Phase.GAMES, text: str = "seen") -> Finding:
    _, term = evidence.moved_by("rally.ran_round_backhand")[0]
    return Finding(term, phase, log_odds, 4, (0,), text)


def test_the_strongest_of_a_family_counts_in_full_and_the_others_half(evidence: EvidenceModel) -> None:
    parts = [finding(evidence, x, text=str(x)) for x in (0.4, 1.0, 0.2)]
    assert [c.log_odds for c in family_weighted(parts, 0.5)] == [1.0, 0.2, 0.1]


def test_evidence_for_and_against_and_of_each_phase_are_families_of_their_own(evidence: EvidenceModel) -> None:
    parts = [
        finding(evidence, 1.0),
        finding(evidence, -0.8),
        finding(evidence, 0.6, Phase.WARM_UP),
        finding(evidence, -0.4, Phase.WARM_UP, "other"),
        finding(evidence, -0.2, Phase.WARM_UP),
    ]
    assert [c.log_odds for c in family_weighted(parts, 0.5)] == [1.0, -0.8, 0.6, -0.4, -0.1]


def test_two_signs_of_one_weakness_weigh_less_than_their_sum(evidence: EvidenceModel, situation: Write) -> None:
    high = {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 10}
    kick = {"what": "return.against_kick", "count": 2, "of": 10}
    alone = [belief(evidence, situation(observations=[o]), "weak_high_backhand", Wing.BACKHAND) for o in (high, kick)]
    both = belief(evidence, situation(observations=[high, kick]), "weak_high_backhand", Wing.BACKHAND)
    weaker, stronger = sorted(one.contributions[0].log_odds for one in alone)
    assert sum(c.log_odds for c in both.contributions) == pytest.approx(stronger + 0.8 * weaker)
    assert alone[0].probability < both.probability


def test_counts_of_one_kind_are_pooled_and_enter_once(evidence: EvidenceModel, situation: Write) -> None:
    parts = [{"what": "rally.ran_round_backhand", "count": n, "of": of} for n, of in ((2, 3), (1, 2), (3, 3))]
    whole = [{"what": "rally.ran_round_backhand", "count": 6, "of": 8}]
    split, pooled = (
        belief(evidence, situation(observations=seen), "hides_backhand", Wing.BACKHAND) for seen in (parts, whole)
    )
    assert split.probability == pytest.approx(pooled.probability, abs=1e-12)
    assert len(split.contributions) == 1
    assert split.contributions[0].observations == (0, 1, 2)
    assert split.contributions[0].text == pooled.contributions[0].text


def test_first_and_second_serve_are_never_pooled(evidence: EvidenceModel, situation: Write) -> None:
    """A drive against the second serve speaks of attacking it, against the first it does not."""
    drives = {"what": "return.return_swing", "counts": {"block": 1, "chip": 0, "drive": 9}}
    first, second = (
        belief(evidence, situation(observations=[{**drives, "serve": serve}]), "attacks_second_serve")
        for serve in ("first", "second")
    )
    assert first.probability == first.prior
    assert second.probability > second.prior


@pytest.mark.parametrize("many", [5, 10, 40])
def test_of_ratings_of_one_kind_at_most_four_count(evidence: EvidenceModel, situation: Write, many: int) -> None:
    def after(entries: int) -> float:
        seen = [{"what": "movement.recovery", "rating": 1}] * entries
        return belief(evidence, situation(observations=seen), "slow_recovery").probability

    assert after(1) < after(4)
    assert after(many) == pytest.approx(after(4), abs=1e-12)


def test_of_more_than_four_mixed_ratings_the_average_counts(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "movement.recovery", "rating": rating} for rating in (0, 0, 0, 0, 4, 4, 4, 4)]
    told = belief(evidence, situation(observations=seen), "slow_recovery")
    table = evidence.moved_by("movement.recovery")[0][1].table
    half = 2 * (log(table["0"][0] / table["0"][1]) + log(table["4"][0] / table["4"][1]))
    assert sum(c.log_odds for c in told.contributions) == pytest.approx(half)


def test_a_choice_made_at_a_cost_says_more_than_a_ball_to_order(evidence: EvidenceModel, situation: Write) -> None:
    def moved(seen: dict[str, Any]) -> float:
        asked = situation(moment="after-warm-up", observations=[seen])
        return belief(evidence, asked, "hides_backhand", Wing.BACKHAND).contributions[0].log_odds

    ran_round = moved({"what": "warmup.ran_round_backhand", "count": 5, "of": 6})
    missed = moved({"what": "warmup.backhand_made", "count": 1, "of": 6})
    assert ran_round > 1.5 * missed > 0


def test_how_often_a_wing_was_fed_says_nothing_about_it(evidence: EvidenceModel, situation: Write) -> None:
    fed = [{"what": "warmup.fed_backhand", "amount": 25}, {"what": "warmup.fed_forehand", "amount": 2}]
    told = evidence.believe(situation(moment="after-warm-up", observations=fed))
    assert told.all == evidence.believe(situation(moment="after-warm-up")).all


def test_a_weakness_of_one_wing_leaves_the_other_alone(evidence: EvidenceModel, situation: Write) -> None:
    low = {"what": "rally.against_low_ball", "count": 1, "of": 9}
    asked = situation(observations=[{**low, "wing": "forehand"}])
    assert belief(evidence, asked, "weak_low_ball", Wing.FOREHAND).probability > 0.60
    assert belief(evidence, asked, "weak_low_ball", Wing.BACKHAND).probability == 0.38
    no_wing = situation(observations=[low])
    assert belief(evidence, no_wing, "weak_low_ball", Wing.FOREHAND).probability == 0.38


def test_returns_that_miss_on_one_wing_and_land_on_the_other_point_at_the_first(
    evidence: EvidenceModel, situation: Write
) -> None:
    seen = [{"what": "return.backhand_in", "count": 3, "of": 12}, {"what": "return.forehand_in", "count": 11, "of": 12}]
    wings = [belief(evidence, situation(observations=seen), "weak_return_wing", wing) for wing in Wing]
    assert wings[0].probability < 0.35
    assert wings[1].probability > 0.75


def test_what_lifts_one_of_two_exclusive_traits_takes_from_the_other(evidence: EvidenceModel, situation: Write) -> None:
    seen = [{"what": "rally.ran_round_backhand", "count": 9, "of": 10}]
    asked = situation(observations=seen)
    hides = belief(evidence, asked, "hides_backhand", Wing.BACKHAND)
    better = belief(evidence, asked, "backhand_is_better", Wing.BACKHAND)
    assert hides.probability > hides.prior
    assert better.probability < better.prior


def test_exclusive_traits_share_out_by_prior_times_odds() -> None:
    odds = [(0.0, log(4.0)), (0.0, 0.0), (0.0, log(0.5))]
    shared = exclusive([0.3, 0.2, 0.1], odds, 0.8)
    total = 0.3 * 4 + 0.2 + 0.1 * 0.5 + 0.4
    assert shared == pytest.approx([1.2 / total, 0.2 / total, 0.05 / total])


def test_games_move_on_from_the_ceiling_of_the_warm_up() -> None:
    assert exclusive([0.5], [(9.0, 0.0)], 0.8) == pytest.approx([0.8])
    assert exclusive([0.5], [(9.0, log(2.0))], 0.8) == pytest.approx([8 / 9])
    assert exclusive([0.5], [(9.0, log(0.25))], 0.8) == pytest.approx([0.5])


def test_one_reason_is_told_in_counts_with_the_places_it_rests_on(evidence: EvidenceModel, situation: Write) -> None:
    seen = [
        {"what": "warmup.energy", "value": "normal"},
        {"what": "rally.against_low_ball", "wing": "backhand", "count": 1, "of": 6},
    ]
    told = belief(evidence, situation(observations=seen), "weak_low_ball", Wing.BACKHAND)
    assert [(c.what, c.observations, c.chances) for c in told.contributions] == [("rally.against_low_ball", (1,), 6)]
    assert told.contributions[0].text.endswith("(backhand): 1 of 6")
    assert told.chances == 6
