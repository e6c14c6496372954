"""What a finished match leaves to learn: the score as it went, what was tried, what turned out otherwise.

Not here: health items (gone when the match ended), other matches (dossier). Next: `debrief`.
"""

from tacticapi.service.debrief.beliefs import BeliefMove
from tacticapi.service.debrief.debrief import BeginWith, Debrief, debrief
from tacticapi.service.debrief.intervals import Share, wilson
from tacticapi.service.debrief.story import StoryPoint
from tacticapi.service.debrief.tactics import TacticLine

__all__ = ["BeginWith", "BeliefMove", "Debrief", "Share", "StoryPoint", "TacticLine", "debrief", "wilson"]
