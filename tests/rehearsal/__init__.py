"""A rehearsal: advice held against opponents of whom all is known, in a world not of the recommender's making.

Not here: anything that the service needs to answer a request; `python -m tests.rehearsal` runs it.
Next: `world/` (the tennis), `players` (the only part that asks for advice), `one_opponent` (one meeting),
`rehearse` (many, in parallel), `measures` and `fit` (what they amount to), `gains` (what tactics are worth here),
`report` (tables and picture).
"""

from tests.rehearsal.gains import suggested_gains
from tests.rehearsal.rehearse import LINES, Report, rehearse
from tests.rehearsal.report import reliability_picture, render

__all__ = ["LINES", "Report", "rehearse", "reliability_picture", "render", "suggested_gains"]
