"""Splits and plain counts, the two ends, the ceiling of the warm-up and traits that share it: worked by hand."""

from collections.abc import Callable
from dataclasses import replace
from math import log
from typing import Any

import pytest

from tacticapi.domain.belief import Contribution
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation, Situation
from tacticapi.domain.terms import Phase, Way, Wing
from tacticapi.domain.trait import Term, TermForm, Trait, WingRule
from tacticapi.evidence.beliefs import EvidenceModel, exclusive
from tacticapi.evidence.entries import Entry, Pool, counted_text
from tacticapi.evidence.likelihood import Finding, Weights, ends_log_odds, findings, share_log_odds
from tacticapi.scoring import Format, read_score

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
    term = Term(what, TermForm.SHARES, "strong", holds=0.7, fails=0.4, kappa=12.0, options=("drive",))
    plain = Observation(index=0, what=what, way=Way.COUNT, count=4, of=5)
    split = Observation(index=1, what=what, way=Way.COUNTS, counts={"drive": 2, "block": 1})
    (told,) = read(term, pool_of(rulebook, what, plain, split))
    assert (told.observations, told.chances) == ((1,), 3)
    assert told.log_odds == pytest.approx(share_log_odds(2, 3, 0.7, 0.4, 12))
    assert read(term, pool_of(rulebook, what, plain)) == []


def test_a_term_without_options_reads_plain_counts_alone_whoever_has_read_the_pool_before(rulebook: Rulebook) -> None:
    what = "return.return_swing"
    with_options = Term(what, TermForm.SHARES, "strong", holds=0.7, fails=0.4, kappa=12.0, options=("drive",))
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
    any_court = Term(what, TermForm.SHARES, "strong", holds=0.6, fails=0.3, kappa=12.0)
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
