"""The one table of serve targets: which spot reaches which wing, by the receiver's hand and the court side.

Geometry of the singles court; the deuce court is on the server's right side, the ad court on the left.
"""

from tacticapi.domain.advice import Target
from tacticapi.domain.terms import Wing

COURTS = ("deuce", "ad")
# (receiver's hand, court, wing) -> spot; a left-hander is the mirror image of a right-hander
SPOTS = {
    ("right", "deuce", Wing.BACKHAND): "T",
    ("right", "deuce", Wing.FOREHAND): "wide",
    ("right", "ad", Wing.FOREHAND): "T",
    ("right", "ad", Wing.BACKHAND): "wide",
    ("left", "deuce", Wing.FOREHAND): "T",
    ("left", "deuce", Wing.BACKHAND): "wide",
    ("left", "ad", Wing.BACKHAND): "T",
    ("left", "ad", Wing.FOREHAND): "wide",
}


def serve_targets(receiver: str | None, wing: Wing | None) -> tuple[Target, ...]:
    """Return the spots that reach a wing of a right- or left-handed receiver, deuce court first.

    Empty when the hand or the wing is unknown, or when the receiver has two forehands.
    """
    if receiver not in ("right", "left") or wing is None:
        return ()
    return tuple(Target(court, SPOTS[receiver, court, wing], wing) for court in COURTS)


def aimed_wing(targets: str | None, wing: Wing | None) -> Wing | None:
    """Return the wing that a tactic serves to: a fixed one, the firing's or the other; None for no serve tactic."""
    match targets:
        case "serve-to-forehand":
            return Wing.FOREHAND
        case "serve-to-backhand":
            return Wing.BACKHAND
        case "serve-to-wing":
            return wing
        case "serve-away-from-wing":
            return wing.other if wing else None
        case _:
            return None
