"""Pictures as answers: SVG that stands alone, on its own ink and paper."""

from flask import Response

from tacticapi.api.debrief.words import belief_name, point_words
from tacticapi.club.debrief import BeliefMove, StoryPoint
from tacticapi.pictures import BeliefBar, CurvePoint, KeyPoint, alone, belief_bars, win_curve

SVG = "image/svg+xml"
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def picture_answer(drawn: str) -> Response:
    """A picture as an answer. Where a browser opens it by itself, nothing in it can run or ask for anything."""
    response = Response(alone(drawn), mimetype=SVG)
    response.headers["Content-Security-Policy"] = POLICY
    return response


def drawn_story(told: tuple[StoryPoint, ...], important: tuple[StoryPoint, ...], *, listed: bool) -> str:
    """The win chance after each point, the important ones marked, and `listed` in words where asked.

    Raises ValueError without any point.
    """
    points = [CurvePoint(point.set, point.chance, point.winner is not None) for point in told]
    keys = [KeyPoint(point.number, point_words(point)) for point in important]
    return win_curve(told[0].chance_before if told else 0.5, points, keys, "story", listed=listed)


def drawn_beliefs(moves: tuple[BeliefMove, ...], name: str, title: str) -> str:
    """Beliefs as bars with what was seen. Raises ValueError without any."""
    bars = [BeliefBar(belief_name(one), one.start, one.end, "; ".join(one.because)) for one in moves]
    return belief_bars(bars, name, title)
