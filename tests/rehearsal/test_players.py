"""What the advised player makes of notes: where a suggestion is aimed, and which serve is expected."""

from types import SimpleNamespace

import pytest

from tacticapi.domain.situation import Moment, Observation, Situation, Way, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.profile import ProfileModel
from tacticapi.pricing.price import PriceBook
from tests.rehearsal.players import adviser as new_adviser
from tests.rehearsal.players import aim_of, leaned, line_of, prices, rows_of
from tests.rehearsal.world.shots import BACKHAND, FOREHAND
from tests.rehearsal.world.tactics import Chosen, options

AWAY = SimpleNamespace(tactic="serve-away-from-lean", rests_on=(), targets=())


@pytest.mark.parametrize(
    ("shading", "aim"),
    [
        ((), BACKHAND),
        (("forehand",), FOREHAND),
        (("backhand",), BACKHAND),
        (("backhand", "forehand", "none"), FOREHAND),
        (("forehand", "backhand"), BACKHAND),
    ],
)
def test_a_serve_away_from_a_lean_goes_by_the_side_that_was_noted_as_guarded_last(shading, aim):
    notes = [{"what": "return.shading", "value": value} for value in shading]
    assert aim_of(AWAY, notes) == aim


@pytest.fixture(scope="module")
def adviser():
    return new_adviser()


def suggested(tactic, wing, worth=None):
    return SimpleNamespace(tactic=tactic, rests_on=(SimpleNamespace(wing=wing),), targets=(), worth=worth)


def test_a_tactic_is_played_at_the_wing_that_it_rests_on_and_a_wide_serve_away_from_the_slow_corner():
    assert aim_of(suggested("work-weaker-wing", Wing.FOREHAND), ()) == FOREHAND
    assert aim_of(suggested("wide-serve-open-court", Wing.FOREHAND), ()) == BACKHAND
    assert aim_of(suggested("wide-serve-open-court", None), ()) == BACKHAND


def test_a_line_without_a_worth_claims_nothing():
    worth = SimpleNamespace(point=0.004, match_low=-0.01, match_high=0.03, pays_in=0.7)
    plain, priced = (line_of(suggested("work-weaker-wing", Wing.BACKHAND, found), ()) for found in (None, worth))
    assert (plain.price, plain.pays_in) == (0.0, None)
    assert (priced.price, priced.pays_in) == (0.004, 0.7)


def test_each_wing_has_the_price_of_that_wing_and_every_priced_tactic_that_can_be_played_has_one(adviser):
    book = PriceBook(adviser.rulebook, ProfileModel(adviser.rulebook))
    rows = {option: [book.rows[row] for row in rows_of(book, option)] for option in options()}
    assert rows[Chosen("work-weaker-wing", FOREHAND)] == [("work-weaker-wing", Wing.FOREHAND)]
    assert rows[Chosen("wide-serve-open-court", FOREHAND)] == [("wide-serve-open-court", Wing.BACKHAND)]
    assert len(rows[Chosen("deep-ball-through-middle")]) == 2
    assert all(bool(found) == bool(adviser.rulebook.tactics[one.tactic].price) for one, found in rows.items())


def test_the_price_of_working_a_wing_rises_with_its_misses(adviser):
    def priced(wing):
        seen = (Observation(0, f"rally.{wing}_errors", Way.COUNT, count=14.0, of=20.0),)
        situation = Situation(Moment.SET_BREAK, observations=seen)
        found = prices(adviser, situation, EvidenceModel(adviser.rulebook).believe(situation))
        return dict(zip(options(), found, strict=True))

    forehand, backhand = Chosen("work-weaker-wing", FOREHAND), Chosen("work-weaker-wing", BACKHAND)
    assert priced("forehand")[forehand] > 0 > priced("forehand")[backhand]
    assert priced("backhand")[backhand] > 0 > priced("backhand")[forehand]


DEUCE = {"what": "serve.deuce_court_spots", "counts": {"wide": 1, "body": 0, "T": 4}}
AD = {"what": "serve.ad_court_spots", "counts": {"wide": 3, "T": 2}}
WARM_UP = {"what": "warmup.serve_spots", "counts": {"body": 2}}


@pytest.mark.parametrize(
    ("notes", "spots"),
    [
        ([], None),
        ([DEUCE], None),
        ([DEUCE, {**AD, "counts": {"wide": 0}}], None),
        ([DEUCE, AD], (2, 0)),
        ([DEUCE, WARM_UP], (2, 1)),
        ([WARM_UP], (1, 1)),
        ([DEUCE, {**DEUCE, "counts": {"wide": 4}}, AD], (0, 0)),
    ],
)
def test_the_spot_noted_most_often_is_expected_where_each_court_has_a_serve(notes, spots):
    assert leaned(notes) == spots
