"""What was graded is told as a person says it, with the chances behind it and the places it rests on."""

from collections.abc import Callable
from dataclasses import replace
from math import inf, log
from typing import Any

import pytest

from tacticapi.domain.belief import Contribution
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation, Situation
from tacticapi.domain.terms import Phase, Way, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.entries import Entry, Pool
from tacticapi.evidence.likelihood import Weights, concerns, findings, graded_words, level_of, profile_finding

Write = Callable[..., Situation]
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
