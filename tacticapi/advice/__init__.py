"""One situation in, one advice out: authority, conflicts, limits of the moment, wording, verdict.

Not here: HTTP, storage, the arithmetic of evidence and value. `recommend` walks the whole road in one function.
Next: `safety` (may anything be said), `selection` (what is left, and in which order), `suggestions` and `words`.
"""

from tacticapi.advice.recommend import Adviser, Trace

__all__ = ["Adviser", "Trace"]
