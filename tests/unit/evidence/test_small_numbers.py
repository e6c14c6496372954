"""Small numbers move little, whatever the order: beliefs hold steady."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from math import exp, log
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import betabinom, dirichlet_multinomial

from tacticapi.domain.reasoning import Belief
from tacticapi.domain.rules import Rulebook, Term, TermForm, Trait, WingRule
from tacticapi.domain.situation import Situation, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel, Move, largest_moves
from tacticapi.evidence.likelihood import share_log_odds
from tacticapi.rulebook.load import load
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score

BOOK: Rulebook = load(strict=False)
POSTED = [k for k in BOOK.kinds.values() if k.subject not in ("own", "opponent", "context")]
COUNTED = [k for k in POSTED if Way.COUNT in k.ways or Way.COUNTS in k.ways]
SHARES = [
    (trait, wing, term)
    for trait in BOOK.traits.values()
    for wing in trait.wings
    for term in trait.terms
    if term.form is TermForm.SHARES and Way.COUNT in BOOK.kinds[term.what].ways and not term.options
    if term.moves in (None, wing)
]
LIMIT = BOOK.defaults["evidence"]["one_chance_move"]
Write = Callable[..., Situation]
Case = tuple[Trait, Wing | None, Term]


def beliefs(evidence: EvidenceModel, asked: Situation) -> dict[tuple[str, Wing | None], Belief]:
    state = read_score(Format(), asked.score) if asked.score else None
    return {(b.trait, b.wing): b for b in evidence.believe(asked, state).all}


def counted(kind_id: str, hits: int, misses: int, **more: Any) -> dict[str, Any]:
    return {"what": kind_id, "count": hits, "of": hits + misses, **more}


@st.composite
def seen(draw: st.DrawFn) -> dict[str, Any]:
    """Any one observation that a client may post."""
    kind = draw(st.sampled_from(POSTED))
    way = draw(st.sampled_from(kind.ways))
    said: dict[str, Any] = {"what": kind.id}
    match way:
        case Way.COUNT:
            said["of"] = draw(st.integers(0, 60))
            said["count"] = draw(st.integers(0, said["of"]))
        case Way.COUNTS:
            said["counts"] = {option: draw(st.integers(0, 20)) for option in kind.options}
        case Way.RATING:
            said["rating"] = draw(st.integers(0, 4))
        case Way.AMOUNT:
            said["amount"] = draw(st.floats(0, 60))
        case Way.SEEN:
            said["seen"] = draw(st.booleans())
        case Way.VALUE:
            said["value"] = draw(st.sampled_from(kind.options))
        case Way.TEXT:
            said["value"] = "WWL"
    for name, words in (("wing", ("forehand", "backhand")), ("court", ("deuce", "ad")), ("serve", ("first", "second"))):
        if name in kind.qualifiers and draw(st.booleans()):
            said[name] = draw(st.sampled_from(words))
    if draw(st.booleans()):
        said |= {"set": 1, "game": draw(st.integers(1, 9)), "end": draw(st.sampled_from(("north", "south")))}
    return said


@settings(max_examples=80)
@given(observations=st.lists(seen(), max_size=12), data=st.data())
def test_the_order_in_which_things_were_seen_changes_nothing(
    evidence: EvidenceModel, situation: Write, observations: list[dict[str, Any]], data: st.DataObject
) -> None:
    shuffled = data.draw(st.permutations(observations))
    first, second = (beliefs(evidence, situation(observations=seen)) for seen in (observations, shuffled))
    for key, belief in first.items():
        assert belief.probability == second[key].probability, key  # to the last bit
        assert told(belief) == told(second[key])


def told(belief: Belief) -> list[tuple[str, str, float]]:
    return sorted((c.what, c.phase.value, c.log_odds) for c in belief.contributions)


@settings(max_examples=80)
@given(observations=st.lists(seen(), max_size=12))
def test_every_belief_is_a_probability_strictly_between_never_and_always(
    evidence: EvidenceModel, situation: Write, observations: list[dict[str, Any]]
) -> None:
    for moment in ("before-match", "after-warm-up", "set-break"):
        held = beliefs(evidence, situation(moment=moment, observations=observations))
        assert all(0.0 < b.probability < 1.0 for b in held.values())
        assert list(held) == [(t.id, wing) for t in BOOK.traits.values() for wing in t.wings]


def one_term(trait: Trait, wing: Wing | None, term: Term, **more: Any) -> dict[str, Any]:
    """The qualifiers with which a count reaches the term."""
    read = {"same": wing, "other": wing.other if wing else None}
    on = read.get(term.wing or "", term.wing)
    qualifiers = {"wing": on and str(on), "serve": term.serve, "court": term.court, **more}
    return {name: value for name, value in qualifiers.items() if value}


@settings(max_examples=120)
@given(case=st.sampled_from(SHARES), parts=st.integers(2, 8), times=st.integers(1, 4), up=st.booleans())
def test_more_chances_with_the_same_telling_share_move_the_belief_further(
    *,
    evidence: EvidenceModel,
    situation: Write,
    case: tuple[Trait, Wing | None, Term],
    parts: int,
    times: int,
    up: bool,
) -> None:
    trait, wing, term = case
    bound = term.p_if_true if up else term.p_if_false
    upwards = term.p_if_true > term.p_if_false
    # a share at or beyond the one that speaks for the trait (or against it), in whole chances
    hits = -int(-bound * parts // 1) if upwards is up else int(bound * parts // 1)
    qualifiers = one_term(trait, wing, term)
    few = counted(term.what, hits, parts - hits, **qualifiers)
    many = counted(term.what, hits * (times + 1), (parts - hits) * (times + 1), **qualifiers)
    moved = [log_odds(evidence, situation, (trait.id, wing), term, posted) for posted in (few, many)]
    assert (moved[1] > moved[0] > 0) if up else (moved[1] < moved[0] < 0)


def log_odds(
    evidence: EvidenceModel, situation: Write, key: tuple[str, Wing | None], term: Term, posted: Mapping[str, Any]
) -> float:
    """What the kind alone added, before families and other traits of a group have their say."""
    moment = "change-of-ends" if "games" in BOOK.kinds[term.what].phases else "after-warm-up"
    belief = beliefs(evidence, situation(moment=moment, observations=[posted]))[key]
    return sum(c.log_odds for c in belief.contributions)


@st.composite
def counts_and_one_more(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """Counts of one kind so far, and the same with one chance more."""
    kind = draw(st.sampled_from(COUNTED))
    where = {
        name: draw(st.sampled_from(words))
        for name, words in (("wing", ("forehand", "backhand")), ("serve", ("first", "second")))
        if name in kind.qualifiers
    }
    if Way.COUNTS in kind.ways and (Way.COUNT not in kind.ways or draw(st.booleans())):
        counts = {option: draw(st.integers(0, 9)) for option in kind.options}
        option = draw(st.sampled_from(kind.options))
        more = {**counts, option: counts[option] + 1}
        return where, {"what": kind.id, "counts": counts}, {"what": kind.id, "counts": more}
    hits, misses = draw(st.integers(0, 15)), draw(st.integers(0, 15))
    hit = draw(st.booleans())
    return where, counted(kind.id, hits, misses), counted(kind.id, hits + hit, misses + (not hit))


@settings(max_examples=250)
@given(case=counts_and_one_more())
def test_one_more_chance_moves_no_belief_far(
    evidence: EvidenceModel, situation: Write, case: tuple[dict[str, Any], dict[str, Any], dict[str, Any]]
) -> None:
    where, before, after = case
    told = [beliefs(evidence, situation(observations=[{**posted, **where}])) for posted in (before, after)]
    for key, belief in told[0].items():
        assert abs(told[1][key].probability - belief.probability) <= LIMIT, (key, before, after)


def test_no_count_of_the_whole_rulebook_moves_a_belief_far_by_one_more_chance(rulebook: Rulebook) -> None:
    moves = list(largest_moves(rulebook))
    assert len(moves) > 80
    worst = max(moves, key=lambda move: move.change)
    assert 0 < worst.change <= LIMIT, worst


@pytest.mark.parametrize("telling", [12, 13, 14, 15])
def test_one_good_ball_after_sixteen_mostly_poor_ones_leaves_a_firm_belief_firm(telling: int) -> None:
    """For every share of the rulebook: a belief that stands at 0.90 after the sixteen stays above 0.85."""
    for trait, _, term in SHARES:
        before, after = (share_after(term, telling, of) for of in (16, 17))
        shaken = log(0.90 / 0.10) + after - before
        assert 1 / (1 + exp(-shaken)) > 0.85, (trait.id, term.what)


def share_after(term: Term, telling: int, of: int) -> float:
    hits = telling if term.p_if_true > term.p_if_false else of - telling
    return share_log_odds(hits, of, term.p_if_true, term.p_if_false, term.kappa)


def test_one_high_backhand_that_comes_back_does_not_undo_sixteen(evidence: EvidenceModel, situation: Write) -> None:
    firm, shaken = (
        beliefs(evidence, situation(observations=[counted("rally.against_high_ball", good, 13, wing="backhand")]))[
            "weak_high_backhand", Wing.BACKHAND
        ].probability
        for good in (3, 4)
    )
    assert firm >= 0.90
    assert 0.85 < shaken < firm


@pytest.mark.parametrize(
    ("kind", "where", "trait", "poor", "good"),
    [
        ("rally.against_high_ball", {"wing": "backhand"}, "weak_high_backhand", (4, 12), (9, 1)),
        ("rally.ran_round_backhand", {}, "hides_backhand", (12, 4), (1, 9)),
    ],
)
def test_sixteen_old_balls_of_one_sort_and_ten_fresh_ones_of_the_other_leave_the_question_open(
    *,
    evidence: EvidenceModel,
    situation: Write,
    kind: str,
    where: dict[str, Any],
    trait: str,
    poor: tuple[int, int],
    good: tuple[int, int],
) -> None:
    old = counted(kind, *poor, **where, set=1, game=3)
    fresh = counted(kind, *good, **where, set=1, game=8)
    score = {"sets": [], "games": [4, 4], "points": ["0", "0"], "server": "own"}
    held = beliefs(evidence, situation(observations=[old, fresh], score=score))
    assert 0.10 < held[trait, Wing.BACKHAND].probability < 0.70


@settings(max_examples=60)
@given(observations=st.lists(seen(), max_size=15))
def test_the_warm_up_alone_settles_nothing(
    evidence: EvidenceModel, situation: Write, observations: list[dict[str, Any]]
) -> None:
    early = beliefs(evidence, situation(moment="after-warm-up", observations=observations))
    assert all(b.probability <= 0.80 + 1e-12 for b in early.values())


def test_no_flood_of_warm_up_evidence_breaks_the_ceiling(evidence: EvidenceModel, situation: Write) -> None:
    flood: Sequence[dict[str, Any]] = [
        {"what": "warmup.ran_round_backhand", "count": 400, "of": 400},
        {"what": "warmup.high_backhand", "rating": 0},
        {"what": "warmup.low_forehand", "rating": 0},
        {"what": "warmup.second_serve_shown", "value": "slow"},
        {"what": "warmup.forehand_ball", "value": "flat"},
        {"what": "warmup.clearance", "value": "low"},
    ]
    for moment in ("after-warm-up", "change-of-ends"):
        held = beliefs(evidence, situation(moment=moment, observations=flood))
        assert max(b.probability for b in held.values()) == pytest.approx(0.80)


@settings(max_examples=80)
@given(observations=st.lists(seen(), max_size=15), moment=st.sampled_from(("after-warm-up", "change-of-ends")))
def test_of_traits_that_exclude_one_another_the_beliefs_never_exceed_one(
    evidence: EvidenceModel, situation: Write, observations: list[dict[str, Any]], moment: str
) -> None:
    groups: dict[str, float] = {}
    for (trait, _), belief in beliefs(evidence, situation(moment=moment, observations=observations)).items():
        if group := BOOK.traits[trait].excludes:
            groups[group] = groups.get(group, 0.0) + belief.probability
    assert set(groups) == {"wing-balance", "score-temper"}
    assert all(total <= 1.0 + 1e-9 for total in groups.values())


# The check of a rulebook ----------------------------------------------------------------------------------------------


Counts = tuple[int, ...]
BASE = (0.35, 0.30, 0.35)
SHARE = Term("rally.ran_round_backhand", TermForm.SHARES, "strong", p_if_true=0.6, p_if_false=0.3, kappa=8.0)
AGAINST = replace(SHARE, p_if_true=0.2, kappa=12.0)
SPOTS = Term("serve.deuce_court_spots", TermForm.FAVOURITE, "strong", p_if_true=0.57, kappa=12.0, base=BASE)
SIGN = Term("rally.ran_round_backhand", TermForm.TABLE, "strong", table={"seen": (0.8, 0.2), "not-seen": (0.2, 0.8)})


def a_trait(id: str, prior: float, *terms: Term, excludes: str | None = None) -> Trait:
    return Trait(id, id, id, WingRule.NONE, prior, terms, excludes)


def moves(rulebook: Rulebook, *traits: Trait, kinds: tuple[str, ...] = (SHARE.what,)) -> list[Move]:
    small = replace(
        rulebook,
        kinds={kind: rulebook.kinds[kind] for kind in kinds},
        traits={trait.id: trait for trait in traits},
    )
    return list(largest_moves(small))


def up_to(most: int, options: int) -> Iterator[Counts]:
    return (counts for counts in product(range(most + 1), repeat=options) if sum(counts) <= most)


def one_more(counts: Counts) -> Iterator[Counts]:
    return (tuple(n + (i == option) for i, n in enumerate(counts)) for option in range(len(counts)))


def odds_of_share(counts: Counts, term: Term) -> float:
    of = sum(counts)
    holds, fails = (
        betabinom.pmf(counts[0], of, m * term.kappa, (1 - m) * term.kappa) for m in (term.p_if_true, term.p_if_false)
    )
    return float(holds / fails)


@pytest.mark.parametrize(("prior", "term"), [(0.3, SHARE), (1e-6, replace(SHARE, kappa=200.0))])
def test_a_share_alone_moves_most_where_brute_force_finds_it(rulebook: Rulebook, prior: float, term: Term) -> None:
    """A rare trait moves most late, after more than sixteen chances; up to forty are tried."""
    (told,) = moves(rulebook, a_trait("hides", prior, term))

    def belief(counts: Counts) -> float:
        odds = prior / (1 - prior) * odds_of_share(counts, term)
        return odds / (1 + odds)

    beliefs = {counts: belief(counts) for counts in up_to(41, 2)}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(40, 2) for after in one_more(counts))
    assert (told.kind, told.trait) == ("rally.ran_round_backhand", "hides")
    assert told.change == pytest.approx(largest)
    assert max(abs(beliefs[after] - beliefs[told.before]) for after in one_more(told.before)) == pytest.approx(largest)
    assert (sum(told.before) > 16) is (prior < 0.01)


def test_of_traits_that_exclude_each_other_one_count_moves_all(rulebook: Rulebook) -> None:
    """The chance of neither is what the priors leave: 0.5."""
    pair = (a_trait("hides", 0.3, SHARE, excludes="balance"), a_trait("better", 0.2, AGAINST, excludes="balance"))
    told = {move.trait: move.change for move in moves(rulebook, *pair)}

    def beliefs(counts: Counts) -> list[float]:
        lifted = [0.3 * odds_of_share(counts, SHARE), 0.2 * odds_of_share(counts, AGAINST)]
        return [odds / (sum(lifted) + 0.5) for odds in lifted]

    known = {counts: beliefs(counts) for counts in up_to(41, 2)}
    for place, trait in enumerate(("hides", "better")):
        changes = (
            abs(known[after][place] - known[counts][place]) for counts in up_to(40, 2) for after in one_more(counts)
        )
        assert told[trait] == pytest.approx(max(changes))


@pytest.mark.parametrize("prior", [0.5, 1e-6])
def test_spots_move_most_where_brute_force_finds_it(rulebook: Rulebook, prior: float) -> None:
    """Of a rare habit up to sixteen serves are tried."""
    (told,) = moves(rulebook, a_trait("predictable", prior, SPOTS), kinds=(SPOTS.what,))
    favourites = [
        [12 * (0.57 if i == spot else 0.43 * b / (1 - BASE[spot])) for i, b in enumerate(BASE)] for spot in range(3)
    ]

    def belief(counts: Counts) -> float:
        of = sum(counts)
        holds = sum(
            b * dirichlet_multinomial.pmf(counts, alphas, of) for b, alphas in zip(BASE, favourites, strict=True)
        )
        fails = dirichlet_multinomial.pmf(counts, [12 * b for b in BASE], of)
        return float(prior * holds / (prior * holds + (1 - prior) * fails))

    beliefs = {counts: belief(counts) for counts in up_to(17, 3)}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(16, 3) for after in one_more(counts))
    assert told.change == pytest.approx(largest)


def test_a_trait_or_kind_without_counts_has_no_move(rulebook: Rulebook) -> None:
    assert moves(rulebook, a_trait("graded", 0.3, SIGN)) == []
    assert moves(rulebook, a_trait("hides", 0.3, SHARE), kinds=("movement.recovery",)) == []
    assert Way.COUNT not in rulebook.kinds["movement.recovery"].ways


def test_a_trait_that_the_kind_does_not_move_is_left_out_of_its_group(rulebook: Rulebook) -> None:
    pair = (a_trait("graded", 0.3, SIGN, excludes="balance"), a_trait("hides", 0.3, SHARE, excludes="balance"))
    (told,) = moves(rulebook, *pair)
    beliefs = {counts: 0.3 * odds / (0.3 * odds + 0.7) for counts, odds in known_odds().items()}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(40, 2) for after in one_more(counts))
    assert (told.trait, told.change) == ("hides", pytest.approx(largest))


def known_odds() -> dict[Counts, float]:
    return {counts: odds_of_share(counts, SHARE) for counts in up_to(41, 2)}


def test_a_share_that_is_the_same_with_and_without_the_trait_moves_nothing(rulebook: Rulebook) -> None:
    alike = replace(SHARE, p_if_false=SHARE.p_if_true)
    assert moves(rulebook, a_trait("hides", 0.3, alike)) == [Move("rally.ran_round_backhand", "hides", 0.0, ())]


def test_of_two_terms_on_one_kind_the_one_that_moves_less_at_once_is_taken(rulebook: Rulebook) -> None:
    firmer = replace(SHARE, kappa=40.0, wing="backhand")
    (both,) = moves(rulebook, a_trait("hides", 0.3, SHARE, firmer))
    (alone,) = moves(rulebook, a_trait("hides", 0.3, firmer))
    assert both == alone


def test_traits_that_do_not_exclude_each_other_move_as_if_alone(rulebook: Rulebook) -> None:
    pair = a_trait("hides", 0.3, SHARE), a_trait("better", 0.2, AGAINST)
    assert moves(rulebook, *pair) == [*moves(rulebook, pair[0]), *moves(rulebook, pair[1])]
