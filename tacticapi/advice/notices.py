"""What the reader must be told beside the advice."""

from tacticapi.advice.permission import permission_notices
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment
from tacticapi.scoring import State, is_change_of_ends

DEFAULTS = "Gains and thresholds are model defaults of this service, not measured results."
NOT_A_CHANGE = "At this score players do not change ends: ends change after odd games of a set."
NO_HAND = "Your opponent's playing hand is not known, so no serve targets are given."
NO_WIND_END = "Say how the wind blows at each end: its strength alone says little."
WINDY = ("moderate", "strong")


def notices(situation: Situation, state: State, rulebook: Rulebook) -> tuple[str, ...]:
    """Return the notices of a situation whose advice may be shown, permissions first."""
    lines = list(permission_notices(situation))
    if situation.moment is Moment.CHANGE_OF_ENDS and situation.score is not None and not is_change_of_ends(state):
        lines.append(NOT_A_CHANGE)
    if situation.context.get("wind") in WINDY and not situation.context.get("wind_direction"):
        lines.append(NO_WIND_END)
    if situation.opponent.get("handedness") is None:
        lines.append(NO_HAND)
    return (*lines, DEFAULTS)
