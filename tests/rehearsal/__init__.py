"""A rehearsal: advice held against opponents of whom all is known, in worlds not of the recommender's making.

Not here: anything that the service needs to answer a request, and anything that it was fitted to.
Next: `world/` (the tennis; `world/worlds` describes the five), `players` (the only part that asks for advice),
`one_opponent` (one meeting), `rehearse` (many, in parallel), `measures` (what they amount to), `report` (the table).
"""

from tests.rehearsal.one_opponent import Manner
from tests.rehearsal.rehearse import Report, Run, rehearse
from tests.rehearsal.report import render

__all__ = ["Manner", "Report", "Run", "rehearse", "render"]
