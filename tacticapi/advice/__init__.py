"""Turn one situation into one piece of advice: authority, conflicts, limits of the moment, wording, verdict.

`recommend` runs all steps in order; `safety` decides if anything may be shown, `selection` decides what remains.
"""

from tacticapi.advice.recommend import Adviser, Trace

__all__ = ["Adviser", "Trace"]
