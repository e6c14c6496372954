"""Which statements about an opponent are true in this world, each from hidden qualities by a stated threshold.

Named by the ids of the traits that advice believes in; traits without a meaning here are absent. A stroke is weak if
the odds of an error are clearly above those of the usual player of that world, shifted as it is (TROUBLE): that is what
a coach means by weak. Wings are compared with each other as they stand, and a habit is one if its share passes a mark.
"""

from typing import Final

from tests.rehearsal.world.match import adapting
from tests.rehearsal.world.pairing import Pairing
from tests.rehearsal.world.shots import BACKHAND, BALL, FIRST_PLAY, FOREHAND, PLAY_SHOT, PLAY_WING, SHOT, SIDES, state

TROUBLE: Final = -0.20  # log-odds against the usual player from which a stroke is weak
LATE: Final = -0.25  # the same for movement
GAP: Final = 0.25  # log-odds between the wings that is worth playing for
BETTER_BACKHAND: Final = 0.10  # log-odds by which the backhand beats the forehand
ROUND_SHARE, MIDDLE_SHARE = 0.22, 0.70  # shares of backhand balls run round, of middle balls taken on the forehand
DEEP_METRES, ATTACK_SHARE, BLOCK_SHARE, LOB_SHARE = 2.0, 0.40, 0.45, 0.30
KICK_SHARE, SPOT_SHARE = 0.45, 0.50
STROKES: Final = frozenset({
    "weak_high_backhand", "weak_low_ball", "rushed_by_pace", "jammed_by_body_ball", "weak_volley", "weak_passing_wing",
    "slow_to_corner", "weak_forehand", "weak_overhead",
})  # fmt: skip
MARKED: Final = 0.5  # standard deviations that make a quality marked
USUAL: Final = {  # what the usual opponent's handling is, where it is not zero
    ("high", 0): 0.08, ("high", 1): -0.23, ("low", 0): 0.08, ("low", 1): -0.06, ("fast", 0): 0.08, ("fast", 1): -0.08,
    ("body", 0): 0.08, ("body", 1): -0.08, ("wide", 0): 0.08, ("wide", 1): -0.08, ("volley", 0): 0.08,
    ("volley", 1): -0.08, ("pass", 0): 0.08, ("pass", 1): -0.11, ("neutral", 0): 0.08, ("neutral", 1): -0.08,
}  # fmt: skip

Truths = dict[tuple[str, str | None], bool]


def truths(pairing: Pairing) -> Truths:
    """Every statement with a meaning here, by trait and wing, and whether it holds."""
    return {**_strokes(pairing), **_wings(pairing), **_serve_and_return(pairing), **_others(pairing)}


def _than_usual(pairing: Pairing, ball: str, wing: int) -> float:
    return float(pairing.other.handle[BALL[ball], wing]) - USUAL.get((ball, wing), 0.0)


def _strokes(pairing: Pairing) -> Truths:
    found: Truths = {("weak_high_backhand", "backhand"): _than_usual(pairing, "high", BACKHAND) < TROUBLE}
    for trait, ball, mark in (
        ("weak_low_ball", "low", TROUBLE), ("rushed_by_pace", "fast", TROUBLE),
        ("jammed_by_body_ball", "body", TROUBLE),
        ("weak_volley", "volley", TROUBLE), ("weak_passing_wing", "pass", TROUBLE), ("slow_to_corner", "wide", LATE),
    ):  # fmt: skip
        for wing in (FOREHAND, BACKHAND):
            found[trait, SIDES[wing]] = _than_usual(pairing, ball, wing) < mark
    z = pairing.nature
    found["lacks_own_pace", None] = z["own_pace"] < -MARKED
    found["rhythm_player", None] = z["rhythm"] < -MARKED
    found["low_shot_tolerance", None] = z["tolerance"] < -MARKED
    found["slow_forward", None] = z["forward"] < -MARKED
    return found


def share(pairing: Pairing, at: int, shot: str | None = None, wing: int | None = None) -> float:
    """Share of an opponent's plays in a state that are of this shot, or hit with this wing."""
    plays = slice(int(FIRST_PLAY[at]), int(FIRST_PLAY[at + 1]))
    chosen = PLAY_SHOT[plays] == SHOT[shot] if shot else PLAY_WING[plays] == wing
    return float(pairing.habits.mix[plays][chosen].sum())


def misses_more_on_the_backhand(pairing: Pairing) -> bool:
    """Whether the opponent misses more ordinary balls on the backhand than on the forehand."""
    return _backhand_ahead(pairing, "neutral") < 0


def _backhand_ahead(pairing: Pairing, ball: str) -> float:
    """Return the log-odds by which the backhand is the better wing, usual shares of the world included."""
    better = pairing.other.handle[BALL[ball]] - pairing.nature.world.shifts["error"][BALL[ball]]
    return float(better[BACKHAND] - better[FOREHAND])


def _wings(pairing: Pairing) -> Truths:
    ahead = _backhand_ahead(pairing, "neutral")
    runs = share(pairing, state("neutral", BACKHAND), wing=FOREHAND) > ROUND_SHARE
    lead = _backhand_ahead(pairing, "second/T")
    return {
        ("prefers_forehand", None): share(pairing, state("neutral", 2), wing=FOREHAND) > MIDDLE_SHARE,
        ("hides_backhand", "backhand"): ahead < -GAP and runs,
        ("backhand_is_better", "backhand"): ahead > BETTER_BACKHAND,
        ("two_even_wings", None): -GAP <= ahead <= BETTER_BACKHAND,
        ("weak_forehand", "forehand"): _than_usual(pairing, "neutral", FOREHAND) < TROUBLE,
        ("forehand_weapon", "forehand"): pairing.nature["hurt_forehand"] > MARKED,
        ("slice_backhand_only", "backhand"): pairing.nature.backhand == "slice",
        ("weak_return_wing", "forehand"): lead > GAP,
        ("weak_return_wing", "backhand"): lead < -GAP,
    }


def _serve_and_return(pairing: Pairing) -> Truths:
    z, serves = pairing.nature, pairing.habits.serves
    spots = serves[0].sum(axis=1)
    return {
        ("big_first_serve", None): z["power"] > MARKED,
        ("soft_second_serve", None): z["second"] < -MARKED,
        ("kick_second_serve", None): float(serves[1, 0, 3].sum()) > KICK_SHARE,
        ("serve_predictable", None): float(spots.max()) > SPOT_SHARE,
        ("returns_from_deep", None): 1.3 + 0.8 * z["stand"] > DEEP_METRES,
        ("attacks_second_serve", None): share(pairing, state("second/T", BACKHAND), "fast") > ATTACK_SHARE,
        ("block_returner", None): share(pairing, state("first/T", BACKHAND), "block") > BLOCK_SHARE,
        ("shades_to_cover", None): z.shade is not None,
    }


def _others(pairing: Pairing) -> Truths:
    z = pairing.nature
    volleys = sum(_than_usual(pairing, "volley", wing) for wing in (FOREHAND, BACKHAND)) / 2
    corners = sum(_than_usual(pairing, "wide", wing) for wing in (FOREHAND, BACKHAND)) / 2
    return {
        ("uncomfortable_at_net", None): volleys < TROUBLE,
        ("weak_overhead", None): float(pairing.other.handle[BALL["smash"], 0]) < LATE,
        ("strong_mover", None): corners > -LATE,
        ("lobs_first", None): share(pairing, state("pass", BACKHAND), "lob") > LOB_SHARE,
        ("uses_drop_shot", None): z["drops"] > MARKED,
        ("heavy_topspin", None): z["topspin"] > 2 * MARKED,
        ("slow_starter", None): z["nerves"] > 2 * MARKED,
        ("adapts_fast", None): adapting(z) > 0.6,
    }
