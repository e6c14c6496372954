"""Turn one situation into one piece of advice: authority, conflicts, limits for the moment, wording, verdict.

`recommend` runs all steps in order; `safety` decides whether anything may be shown, and `selection` decides what is
shown.
"""

from tacticapi.advice.recommend import Adviser, Trace

__all__ = ["Adviser", "Trace"]
