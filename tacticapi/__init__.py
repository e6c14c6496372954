"""tacticapi: what was seen of an unknown tennis opponent, turned into ranked and explained suggestions.

The road runs one way: api -> advice -> evidence, rulebook, pricing -> scoring -> domain. Next: `advice.recommend`.
"""

__version__ = "0.1.0"
