"""The pictures of a debrief."""

from tacticapi.api.pictures.drawn import drawn_beliefs
from tacticapi.api.pictures.drawn import drawn_story as story_of
from tacticapi.club.debrief import Debrief

SURPRISES = "What moved most: believed after the match, and before it"


def drawn_story(told: Debrief) -> str | None:
    """The win chance after each point with the most important points; None where no point was kept."""
    return story_of(told.story, told.important, listed=False) if told.story else None


def drawn_surprises(told: Debrief) -> str | None:
    """The beliefs that moved most, with what was seen; None where none moved."""
    return drawn_beliefs(told.surprises, "surprises", SURPRISES) if told.surprises else None
