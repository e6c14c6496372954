"""Stored advice given again under today's rules: what would differ, and why.

Not here: the kept match itself, which a replay never changes; only the command line calls this folder.
Next: `recompute` (one piece of advice), `compare` (what differs), `run` (many, in parallel, resumed where it ended).
"""

from tacticapi.replay.recompute import DIFFERS, LEFT_OUT, SAME, Outcome
from tacticapi.replay.run import StateRefused, advice_ids, replay

__all__ = ["DIFFERS", "LEFT_OUT", "SAME", "Outcome", "StateRefused", "advice_ids", "replay"]
