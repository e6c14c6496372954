"""Which spot reaches which wing: by geometry, for every pair of hands, court and wing."""

from collections.abc import Callable
from itertools import product

import pytest

from tacticapi.advice.suggestions import serve_targets
from tacticapi.domain.advice import Advice
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Wing

HIDES = [
    {"what": "rally.ran_round_backhand", "count": 10, "of": 12},
    {"what": "return.backhand_in", "count": 3, "of": 12},
]
ALONG = {"left": -1, "right": 1}  # across the court, as the receiver sees it


def spot_by_geometry(hand: str, court: str, wing: Wing) -> str:
    """The receiver stands on the right in the deuce court, on the left in the ad court, and faces the server.

    T lies towards the middle of the court, wide away from it; the forehand is on the side of the hand.
    """
    stands = ALONG["right" if court == "deuce" else "left"]
    stroke = ALONG[hand] if wing is Wing.FOREHAND else -ALONG[hand]
    return "wide" if stroke == stands else "T"


@pytest.mark.parametrize(("receiver", "wing"), product(("right", "left"), Wing))
def test_the_table_is_that_of_the_geometry(receiver: str, wing: Wing) -> None:
    targets = serve_targets(receiver, wing)
    assert [(t.court, t.spot, t.wing) for t in targets] == [
        (court, spot_by_geometry(receiver, court, wing), wing) for court in ("deuce", "ad")
    ]


@pytest.mark.parametrize(("receiver", "wing"), [("both", Wing.BACKHAND), (None, Wing.BACKHAND), ("right", None)])
def test_two_forehands_an_unknown_hand_or_an_unknown_wing_give_no_target(
    receiver: str | None, wing: Wing | None
) -> None:
    assert serve_targets(receiver, wing) == ()


@pytest.mark.parametrize(("server", "receiver"), product(("right", "left"), repeat=2))
def test_the_servers_own_hand_moves_no_target(advise: Callable[..., Advice], server: str, receiver: str) -> None:
    advice = advise(
        own={"handedness": server, "serve_placement": 3},
        opponent={"handedness": receiver},
        observations=HIDES,
        limit=10,
    )
    served = next(s for s in advice.suggestions if s.tactic == "serve-to-hidden-wing")
    assert {(t.court, t.spot) for t in served.targets} == {
        (court, spot_by_geometry(receiver, court, Wing.BACKHAND)) for court in ("deuce", "ad")
    }


def test_a_serve_to_the_forehand_aims_there_whatever_the_hand(advise: Callable[..., Advice]) -> None:
    seen = [{"what": "return.forehand_in", "count": 3, "of": 14}, {"what": "return.backhand_in", "count": 12, "of": 14}]
    for hand in ("right", "left"):
        advice = advise(own={"serve_placement": 3}, opponent={"handedness": hand}, observations=seen, limit=10)
        served = next(s for s in advice.suggestions if s.tactic == "serve-to-hidden-wing")
        assert all(t.wing is Wing.FOREHAND for t in served.targets)
        assert [t.spot for t in served.targets] == [spot_by_geometry(hand, c, Wing.FOREHAND) for c in ("deuce", "ad")]


def test_only_serves_have_targets(rulebook: Rulebook) -> None:
    aimed = [t for t in rulebook.tactics.values() if t.targets]
    assert len(aimed) >= 4
    assert all(t.effect.on.value in ("serve", "both") for t in aimed)
