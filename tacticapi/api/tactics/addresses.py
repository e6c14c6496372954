"""The address of the picture of a tactic's place on the court."""

from urllib.parse import urlencode

from tacticapi.domain.place import Hands

DRAWN_HANDS = ("right", "left")


def picture_address(tactic: str, hands: Hands | None) -> str | None:
    """Where the picture is, for these hands as far as they are known; None where there is no place to draw."""
    if hands is None:
        return None
    known = {
        "own": hands.own if hands.own in DRAWN_HANDS else None,
        "opponent": hands.opponent if hands.opponent in DRAWN_HANDS else None,
        "wing": hands.wing.value if hands.wing else None,
    }
    query = urlencode({name: value for name, value in known.items() if value})
    return f"/v1/tactics/{tactic}/picture" + (f"?{query}" if query else "")
