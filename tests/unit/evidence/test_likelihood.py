"""Log odds against their closed forms and scipy, and what each term makes of what was seen, word for word."""

from collections.abc import Callable
from dataclasses import replace
from math import exp, fsum, inf, isfinite, log
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import betaln, log_expit, logit
from scipy.stats import betabinom, dirichlet_multinomial

from tacticapi.domain.reasoning import Contribution
from tacticapi.domain.rules import Rulebook, Term, TermForm
from tacticapi.domain.situation import Observation, Phase, Situation, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.entries import Entry, Pool
from tacticapi.evidence.likelihood import (
    Weights,
    concerns,
    ends_log_odds,
    favourite_log_odds,
    findings,
    graded_words,
    level_of,
    log_beta_binomial,
    log_dirichlet_multinomial,
    profile_finding,
    share_log_odds,
)
from tacticapi.evidence.next_observation import predict_hits, predict_spread, predict_spread_by_favourite, spreads
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score

BASE = (0.35, 0.30, 0.35)
HUGE = 10_000


def test_every_term_stays_finite_for_any_count_that_a_client_may_post(rulebook: Rulebook) -> None:
    for trait in rulebook.traits.values():
        for term in trait.terms:
            if term.form is TermForm.SHARES:
                extremes = [(0, HUGE), (HUGE, HUGE), (HUGE // 2, HUGE), (0, 1), (1, 1), (0.001, 0.002)]
                said = [share_log_odds(a, b, term.p_if_true, term.p_if_false, term.kappa) for a, b in extremes]
            elif term.form is TermForm.FAVOURITE:
                spreads = [[HUGE, 0, 0], [0, 0, HUGE], [HUGE, HUGE, HUGE], [0, 0, 1], [0.001, 0, 0]]
                said = [favourite_log_odds(counts, term.p_if_true, term.kappa, term.base) for counts in spreads]
            elif term.form is TermForm.ENDS:
                both = [((0, HUGE), (HUGE, HUGE)), ((HUGE, HUGE), (HUGE, HUGE)), ((1, 1), (0, 1))]
                said = [ends_log_odds(a, b, term.p_if_true, term.p_if_false) for a, b in both]
            else:
                continue
            assert all(isfinite(value) for value in said), (trait.id, term.what)


def test_both_columns_of_every_table_sum_to_one(rulebook: Rulebook) -> None:
    tables = [t for trait in rulebook.traits.values() for t in trait.terms if t.form is TermForm.TABLE]
    assert len(tables) > 60
    for term in tables:
        for column in zip(*term.table.values(), strict=True):
            assert sum(column) == pytest.approx(1.0, abs=1e-9), term.what
            assert all(0 < chance < 1 for chance in column), term.what


def test_shares_keep_holds_apart_from_fails_and_away_from_certainty(rulebook: Rulebook) -> None:
    for trait in rulebook.traits.values():
        for term in trait.terms:
            if term.form in (TermForm.SHARES, TermForm.ENDS):
                assert 0.02 < min(term.p_if_true, term.p_if_false) < max(term.p_if_true, term.p_if_false) < 0.98, (
                    trait.id,
                    term.what,
                )
                assert (term.kappa > 0) is (term.form is TermForm.SHARES), (trait.id, term.what)


@given(chances=st.integers(0, 40), share=st.floats(0.05, 0.95), size=st.floats(1, 60))
def test_one_chance_after_another_or_all_at_once_weighs_the_same(chances: int, share: float, size: float) -> None:
    """Chances are exchangeable: updating the Beta ball by ball multiplies up to the Beta-Binomial."""
    a, b, product = share * size, (1 - share) * size, 1.0
    for ball in range(chances):
        hit = ball % 3 == 0
        product *= (a if hit else b) / (a + b)
        a, b = a + hit, b + (not hit)
    hits = len(range(0, chances, 3))
    assert exp(log_beta_binomial(hits, chances, share, size)) == pytest.approx(product, rel=1e-9)


def test_a_count_at_the_share_without_the_trait_speaks_against_it() -> None:
    assert share_log_odds(6, 20, 0.50, 0.30, 40) < 0 < share_log_odds(10, 20, 0.50, 0.30, 40)


def test_nothing_seen_says_nothing() -> None:
    assert share_log_odds(0, 0, 0.5, 0.3, 40) == 0.0
    assert favourite_log_odds([0, 0, 0], 0.57, 12, BASE) == pytest.approx(0.0, abs=1e-12)
    assert ends_log_odds((0, 0), (0, 0), 0.29, 0.18) == pytest.approx(0.0, abs=1e-12)


def test_a_single_serve_says_next_to_nothing_about_a_favourite_spot() -> None:
    """The spot is averaged over, not picked after the fact: the first serve always lands on the largest count."""
    for counts in ([1, 0, 0], [0, 1, 0], [0, 0, 1]):
        assert abs(favourite_log_odds(counts, 0.57, 12, BASE)) < 0.04


def test_six_serves_to_one_spot_speak_for_a_favourite_and_an_even_spread_against() -> None:
    assert favourite_log_odds([6, 0, 0], 0.57, 12, BASE) > 0.5
    assert favourite_log_odds([3, 3, 3], 0.57, 12, BASE) < -0.2


def test_which_end_is_the_worse_one_does_not_matter() -> None:
    one, other = (9.0, 20.0), (2.0, 20.0)
    swapped = ends_log_odds(other, one, 0.29, 0.18)
    assert ends_log_odds(one, other, 0.29, 0.18) == pytest.approx(swapped, abs=1e-12)
    assert swapped > 0 > ends_log_odds((3.0, 20.0), (3.0, 20.0), 0.29, 0.18)


def test_a_player_who_misses_as_much_at_either_end_is_not_unsettled_by_the_wind() -> None:
    for errors in (1.0, 5.0, 12.0, 19.0):
        assert ends_log_odds((errors, 20.0), (errors, 20.0), 0.29, 0.18) < 0


def test_one_end_alone_says_next_to_nothing_about_the_wind() -> None:
    for errors in (0.0, 4.0, 9.0):
        assert abs(ends_log_odds((errors, 20.0), (0.0, 0.0), 0.29, 0.18)) < 0.12


def test_enough_balls_settle_whether_one_end_is_worse() -> None:
    assert ends_log_odds((20.0, 40.0), (5.0, 40.0), 0.29, 0.18) > 3
    assert ends_log_odds((1000.0, 4000.0), (500.0, 4000.0), 0.29, 0.18) > 50
    assert ends_log_odds((700.0, 4000.0), (700.0, 4000.0), 0.29, 0.18) < -10


@given(st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.booleans())
def test_one_more_stroke_at_either_end_moves_a_belief_little(a: int, n: int, b: int, m: int, miss: bool) -> None:
    before, after = (
        1 / (1 + 0.7 / 0.3 * exp(-ends_log_odds(*ends, 0.29, 0.18)))
        for ends in (((min(a, n), n), (min(b, m), m)), ((min(a, n) + miss, n + 1), (min(b, m), m)))
    )
    assert abs(after - before) <= 0.12


def test_old_counts_enter_as_fractions_without_a_jump() -> None:
    whole = log_dirichlet_multinomial([3, 1, 0], [4.2, 3.6, 4.2])
    nearly = log_dirichlet_multinomial([3.000001, 1, 0], [4.2, 3.6, 4.2])
    assert whole == pytest.approx(nearly, abs=1e-5)


# Against scipy --------------------------------------------------------------------------------------------------------


Write = Callable[..., Situation]
FAVOURITES = [
    [12 * (0.57 if i == spot else 0.43 * b / (1 - BASE[spot])) for i, b in enumerate(BASE)] for spot in range(3)
]
PLAIN = [12 * b for b in BASE]


@pytest.mark.parametrize("seen", [(0, 0), (6, 10), (10, 10), (2.5, 7.25)])
def test_a_share_after_counts_falls_as_scipys_beta_binomial(seen: tuple[float, float]) -> None:
    term = Term("some.kind", TermForm.SHARES, "strong", p_if_true=0.39, p_if_false=0.25, kappa=40.0)
    hits, misses = seen[0], seen[1] - seen[0]
    for told, share in zip(predict_hits(term, seen, 4), (0.39, 0.25), strict=True):
        expected = betabinom.pmf(range(5), 4, 40 * share + hits, 40 * (1 - share) + misses)
        assert told == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seen", [(0, 0, 0), (6, 1, 0), (2, 2, 2), (0, 3, 9)])
def test_serves_after_serves_fall_as_scipys_dirichlet_multinomial(seen: tuple[int, int, int]) -> None:
    """Which spot would be the favourite is weighed by what has been served (Bayes)."""
    holds, fails = predict_spread(0.57, 12.0, BASE, seen, 2)
    told = [b * dirichlet_multinomial.pmf(seen, alphas, sum(seen)) for b, alphas in zip(BASE, FAVOURITES, strict=True)]
    for (next_two, _), with_favourite, without in zip(spreads(3, 2), holds, fails, strict=True):
        parts = [w * chance(next_two, alphas, seen) for w, alphas in zip(told, FAVOURITES, strict=True)]
        assert with_favourite == pytest.approx(sum(parts) / sum(told))
        assert without == pytest.approx(chance(next_two, PLAIN, seen))


def chance(next_two: tuple[int, ...], alphas: list[float], seen: tuple[int, int, int]) -> float:
    after = [a + n for a, n in zip(alphas, seen, strict=True)]
    return float(dirichlet_multinomial.pmf(next_two, after, sum(next_two)))


def test_a_thousand_serves_leave_outcomes_that_sum_to_one() -> None:
    for outcomes in predict_spread(0.57, 12.0, BASE, (600.0, 250.0, 150.0), 3):
        assert fsum(outcomes) == pytest.approx(1.0)


def test_with_the_favourite_known_serves_fall_as_scipys_dirichlet_multinomial() -> None:
    known = predict_spread_by_favourite(0.57, 12.0, BASE, 2)
    assert len(known) == 3
    for (holds, fails), alphas in zip(known, FAVOURITES, strict=True):
        for (next_two, _), with_it, without in zip(spreads(3, 2), holds, fails, strict=True):
            assert with_it == pytest.approx(dirichlet_multinomial.pmf(next_two, alphas, 2))
            assert without == pytest.approx(dirichlet_multinomial.pmf(next_two, PLAIN, 2))


@pytest.mark.parametrize(
    ("one", "other"),
    [((9, 20), (2, 20)), ((3, 20), (3, 20)), ((0, 3), (4, 5)), ((1.5, 7.25), (0, 2.5)), ((1, 1), (0, 1))],
)
def test_errors_at_two_ends_weigh_what_scipys_quadrature_says(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    """The player's own share of errors is averaged over Beta(2 x 0.18, 2 x 0.82), on the log odds of the share."""
    half = (logit(0.29) - logit(0.18)) / 2

    def likely(shift: float) -> float:
        def at(x: float) -> float:
            parts = ((0.36, 2.0, x), (*one, x + shift), (*other, x - shift))
            return exp(sum(hits * log_expit(y) + (of - hits) * log_expit(-y) for hits, of, y in parts))

        return float(quad(at, -60, 40, points=[-2.0], limit=400, epsabs=0.0, epsrel=1e-10)[0])

    expected = log((likely(half) + likely(-half)) / 2 / likely(0.0))
    assert ends_log_odds(one, other, 0.29, 0.18) == pytest.approx(expected, abs=1e-5)


def test_spots_of_serves_weigh_as_scipys_mixture_over_the_favourite(evidence: EvidenceModel, situation: Write) -> None:
    """Six serves wide and one to the T five games ago count half; with two wide and one at the body: 5, 1 and 0.5."""
    score = {"sets": [], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    seen = [
        {"what": "serve.deuce_court_spots", "counts": {"wide": 6, "T": 1}, "set": 1, "game": 2},
        {"what": "serve.deuce_court_spots", "counts": {"wide": 2, "body": 1}, "set": 1, "game": 7},
    ]
    asked = situation(observations=seen, score=score)
    beliefs = evidence.believe(asked, read_score(Format.from_wire(None), asked.score)).by_key
    (told,) = beliefs["serve_predictable", None].contributions
    weighed = (5.0, 1.0, 0.5)
    favourites = [
        weight * exp(log_density(weighed, alphas) - log_density(weighed, PLAIN))
        for weight, alphas in zip(BASE, FAVOURITES, strict=True)
    ]
    assert told.log_odds == pytest.approx(log(sum(favourites)))
    assert told.chances == 10
    assert told.text.endswith(": wide 8, T 1, body 1")


def log_density(counts: tuple[float, ...], alphas: list[float]) -> float:
    """Log of the integral of prod p^(a + n - 1) over that of prod p^(a - 1): Dirichlet's integral by scipy's beta."""
    total, held, added = 0.0, alphas[0], counts[0]
    for a, n in zip(alphas[1:], counts[1:], strict=True):
        total += float(betaln(held + added, a + n) - betaln(held, a))
        held, added = held + a, added + n
    return total


# Word for word --------------------------------------------------------------------------------------------------------


SURE = {"seen": (0.8, 0.2), "not-seen": (0.2, 0.8)}


def contribution(evidence: EvidenceModel, asked: Situation, trait: str, wing: Wing | None = None) -> Contribution:
    (told,) = evidence.believe(asked).by_key[trait, wing].contributions
    return told


@pytest.mark.parametrize(
    ("what", "trait", "posted", "chances", "words"),
    [
        ("movement.recovery", "slow_recovery", [{"rating": 1}], 4, ": rated 1 of 4"),
        ("movement.recovery", "slow_recovery", [{"rating": 1}] * 2, 8, ": rated 1 of 4"),
        (
            "movement.recovery",
            "slow_recovery",
            [{"rating": 0}, {"rating": 1}],
            8,
            ": rated 0 of 4, rated 1 of 4",
        ),
        ("tempo.time_between_points", "delays_play", [{"amount": 38}], 1, ": 38 s"),
        ("tempo.time_between_points", "delays_play", [{"amount": 38}, {"amount": 31.5}], 2, ": 38 s, 31.5 s"),
    ],
)
def test_what_was_graded_is_told_in_the_words_of_a_person(
    *,
    evidence: EvidenceModel,
    rulebook: Rulebook,
    situation: Write,
    what: str,
    trait: str,
    posted: list[dict[str, Any]],
    chances: int,
    words: str,
) -> None:
    """A rating stands for four chances, an amount for one: model defaults."""
    told = contribution(evidence, situation(observations=[{"what": what, **said} for said in posted]), trait)
    assert told.text == rulebook.kinds[what].says + words
    assert told.chances == chances
    assert told.observations == tuple(range(len(posted)))


def said(way: Way, **fields: Any) -> Entry:
    return Entry(Observation(index=0, what="tempo.delay", way=way, **fields), Phase.GAMES, 1.0)


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (said(Way.RATING, rating=3), "rated 3 of 4"),
        (said(Way.AMOUNT, amount=2), "2 times"),
        (said(Way.SEEN, seen=True), "seen"),
        (said(Way.SEEN, seen=False), "not seen"),
        (said(Way.TEXT, value="a limp"), "seen"),  # a text is the client's, and is never told again
        (said(Way.VALUE, value="high"), "high"),
    ],
)
def test_every_way_of_saying_has_its_words(rulebook: Rulebook, entry: Entry, words: str) -> None:
    kind = rulebook.kinds["tempo.delay"]
    assert graded_words(entry, replace(kind, unit="times")) == words


def test_an_amount_without_a_unit_is_the_number_alone(rulebook: Rulebook) -> None:
    assert graded_words(said(Way.AMOUNT, amount=2.5), replace(rulebook.kinds["tempo.delay"], unit=None)) == "2.5"


def test_what_is_known_from_before_the_match_rests_on_no_observation(
    evidence: EvidenceModel, rulebook: Rulebook, situation: Write
) -> None:
    """A slice is five times as likely with the trait as without it (5/6 against 1/6)."""
    told = contribution(evidence, situation(opponent={"backhand_type": "slice"}), "slice_backhand_only", Wing.BACKHAND)
    assert told.log_odds == pytest.approx(log(5))
    assert (told.phase, told.chances, told.observations) == (Phase.BEFORE, 0, ())
    assert told.text == f"{rulebook.kinds[told.what].says}: slice"


def test_a_word_that_the_table_has_not_says_nothing(evidence: EvidenceModel, rulebook: Rulebook) -> None:
    kind = rulebook.kinds["opponent.backhand_type"]
    tables = [term for _, term in evidence.moved_by(kind.id)]
    assert tables
    assert [profile_finding(term, kind, "three-handed") for term in tables] == [None] * len(tables)


# Terms of our own -------------------------------------------------------------------------------------------------

BANDS = (("short", -inf, 20.0), ("usual", 20.0, 30.0), ("long", 30.0, inf))


@pytest.mark.parametrize(("amount", "level"), [(19.9, "short"), (20.0, "usual"), (29.9, "usual"), (30.0, "long")])
def test_a_band_takes_its_lower_edge_and_leaves_its_upper_one(amount: float, level: str) -> None:
    term = Term("tempo.delay", TermForm.TABLE, "strong", bands=BANDS)
    assert level_of(term, said(Way.AMOUNT, amount=amount)) == level


@pytest.mark.parametrize(
    ("entry", "level"),
    [
        (said(Way.SEEN, seen=True), "seen"),
        (said(Way.SEEN, seen=False), "not-seen"),
        (said(Way.TEXT, value="a limp"), "seen"),
        (said(Way.VALUE, value="seen"), "seen"),
        (said(Way.VALUE, value="elsewhere"), None),
        (said(Way.RATING, rating=2), None),
    ],
)
def test_a_sign_is_read_as_seen_or_not(entry: Entry, level: str | None) -> None:
    assert level_of(Term("tempo.delay", TermForm.TABLE, "strong", table=SURE), entry) == level


@pytest.mark.parametrize(("rating", "level"), [(0.6, "1"), (1.4, "1"), (3.0, "3")])
def test_a_rating_between_two_levels_is_read_as_the_nearer(rating: float, level: str) -> None:
    table = {str(n): (0.2, 0.2) for n in range(5)}
    assert (
        level_of(Term("tempo.delay", TermForm.TABLE, "strong", table=table), said(Way.RATING, rating=rating)) == level
    )


def test_a_term_of_one_court_leaves_the_other_court_out(rulebook: Rulebook) -> None:
    pool = Pool(rulebook.kinds["tempo.delay"], Phase.GAMES, None, None)
    pool.entries += [
        Entry(Observation(index=n, what="tempo.delay", way=Way.SEEN, seen=seen, court=court), Phase.GAMES, 1.0)
        for n, (seen, court) in enumerate([(True, "deuce"), (True, "deuce"), (False, "ad")])
    ]
    term = Term("tempo.delay", TermForm.TABLE, "strong", court="deuce", table=SURE)
    (told,) = findings(term, None, [pool], Weights(4, 4))
    assert told.observations == (0, 1)
    assert told.log_odds == pytest.approx(2 * log(4))


def test_fewer_entries_than_the_limit_are_not_made_more_of(rulebook: Rulebook) -> None:
    """Of at most three entries, six half-old ones count as three, one counts as one."""
    for many, weight, counted in ((6, 0.5, 3), (12, 0.5, 3), (1, 1.0, 1)):
        pool = Pool(rulebook.kinds["tempo.delay"], Phase.GAMES, None, None)
        seen = Observation(index=0, what="tempo.delay", way=Way.SEEN, seen=True)
        pool.entries += [Entry(seen, Phase.GAMES, weight)] * many
        (told,) = findings(Term("tempo.delay", TermForm.TABLE, "strong", table=SURE), None, [pool], Weights(3, 4))
        assert told.log_odds == pytest.approx(counted * log(4))


@pytest.mark.parametrize(
    ("asked", "of", "seen", "read"),
    [
        (None, Wing.FOREHAND, None, True),
        (None, Wing.FOREHAND, Wing.BACKHAND, True),
        ("same", Wing.FOREHAND, Wing.FOREHAND, True),
        ("same", Wing.FOREHAND, Wing.BACKHAND, False),
        ("same", Wing.FOREHAND, None, False),
        ("same", None, None, False),
        ("other", Wing.FOREHAND, Wing.BACKHAND, True),
        ("other", Wing.FOREHAND, Wing.FOREHAND, False),
        ("other", Wing.FOREHAND, None, False),
        ("other", None, Wing.FOREHAND, False),
        ("backhand", None, Wing.BACKHAND, True),
        ("backhand", Wing.BACKHAND, Wing.FOREHAND, False),
    ],
)
def test_whose_wing_a_term_reads(
    *, rulebook: Rulebook, asked: str | None, of: Wing | None, seen: Wing | None, read: bool
) -> None:
    pool = Pool(rulebook.kinds["tempo.delay"], Phase.GAMES, seen, None)
    assert concerns(Term("tempo.delay", TermForm.TABLE, "strong", wing=asked), of, pool) is read
