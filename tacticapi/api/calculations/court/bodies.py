"""The answers about court and ball with their notices; where the event does not permit one now, all of it is null.

The second argument, the defaults of the rulebook, is that of every calculation; the numbers of court and ball are read
with our rules and no house rule changes them.
"""

from collections.abc import Mapping
from typing import Any

from tacticapi.api.calculations.court.answers import CourtPositionSchema, GapSchema, ShotMarginSchema
from tacticapi.api.calculations.court.gap import gap_body, gap_told
from tacticapi.api.calculations.court.gap_body import GapAsked
from tacticapi.api.calculations.court.margin import margin_body, margin_told
from tacticapi.api.calculations.court.margin_body import MarginAsked
from tacticapi.api.calculations.court.position import position_body, position_told
from tacticapi.api.calculations.court.position_body import PositionAsked
from tacticapi.api.calculations.occasion import framed


def shot_margin_body(asked: MarginAsked, _: Mapping[str, Any]) -> dict[str, Any]:
    """The answer about a shot, unrounded. Raises OutOfReachError where the ball cannot get to its target."""
    return framed(asked.occasion, ShotMarginSchema, lambda: margin_body(margin_told(asked)))


def court_position_body(asked: PositionAsked, _: Mapping[str, Any]) -> dict[str, Any]:
    """The answer about a stand, unrounded. Raises OutOfReachError or NoLobError for balls that cannot be played."""
    return framed(asked.occasion, CourtPositionSchema, lambda: position_body(position_told(asked)))


def gap_answer_body(asked: GapAsked, _: Mapping[str, Any]) -> dict[str, Any]:
    """The answer about a gap, unrounded. Raises OutOfReachError where the ball cannot get to its target."""
    return framed(asked.occasion, GapSchema, lambda: gap_body(gap_told(asked)))
