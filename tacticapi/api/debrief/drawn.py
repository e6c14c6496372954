"""The pictures of a debrief."""

from tacticapi.api.debrief.words import belief_name, point_words
from tacticapi.pictures import BeliefBar, CurvePoint, KeyPoint, belief_bars, win_curve
from tacticapi.service.debrief import Debrief

SURPRISES = "What moved most: believed after the match, and before it"


def drawn_story(told: Debrief) -> str | None:
    """The win chance after each point with the most important points; None where no point was kept."""
    if not told.story:
        return None
    points = [CurvePoint(point.set, point.chance, point.winner is not None) for point in told.story]
    keys = [KeyPoint(point.number, point_words(point)) for point in told.important]
    return win_curve(told.story[0].chance_before, points, keys, "story")


def drawn_surprises(told: Debrief) -> str | None:
    """The beliefs that moved most, with what was seen; None where none moved."""
    if not told.surprises:
        return None
    bars = [BeliefBar(belief_name(one), one.start, one.end, "; ".join(one.because)) for one in told.surprises]
    return belief_bars(bars, "surprises", SURPRISES)
