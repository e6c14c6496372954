"""What the advised player makes of notes: where a suggestion is aimed, and which serve is expected."""

from types import SimpleNamespace

import pytest

from tests.rehearsal.players import aim_of, leaned
from tests.rehearsal.world.shots import BACKHAND, FOREHAND

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
