"""Where a tactic happens on the court: what the rules say of it, and the serve targets that the hands decide."""

from dataclasses import replace

from tacticapi.advice.targets import aimed_wing, serve_targets
from tacticapi.domain.place import Hands, Place
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Wing


def place_of(tactic_id: str, hands: Hands, rulebook: Rulebook) -> Place | None:
    """The place of a tactic for these hands; None where it has none. Raises KeyError for an unknown tactic.

    Where a serve tactic aims at a wing, a hand that is not known counts as right and a wing as the backhand.
    """
    tactic, place = rulebook.tactics[tactic_id], rulebook.places.get(tactic_id)
    wing = aimed_wing(tactic.targets, hands.wing or Wing.BACKHAND)
    serves = {t.court: t.spot for t in serve_targets("left" if hands.opponent == "left" else "right", wing)}
    if not serves:
        return place
    return replace(place or Place(tactic_id), serves=serves)
