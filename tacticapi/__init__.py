"""tacticapi: what was seen of an unknown tennis opponent, turned into ranked and explained suggestions.

The road runs one way: api -> advice -> evidence, inference, value -> knowledge, scoring -> domain.
Start reading at `tacticapi.advice.recommend`.
"""

__version__ = "0.1.0"
