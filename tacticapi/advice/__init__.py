"""One situation in, one advice out: authority, conflicts, limits of the moment, wording, verdict.

`recommend` walks the whole road in one function; `safety` says if anything may be said, `selection` what is left.
"""

from tacticapi.advice.recommend import Adviser, Trace

__all__ = ["Adviser", "Trace"]
