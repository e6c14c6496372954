"""Measured limits of the engine: beyond them it refuses a rule, loses facts, hangs or crashes."""

MAX_PATTERNS = 8  # conditions a rule
MAX_PENDING = 64  # distinct conditions that one fact may satisfy
MAX_ON_ONE_PATH = 250  # conjunctions that use one identical condition
MAX_NAMES = 500  # names a kind of facts
MAX_NUMBER = 2**31 - 1  # size of a whole number
MAX_WORD = 64  # characters
