"""Why a matcher gave no answer."""


class EngineError(RuntimeError):
    """The engine gave no complete answer to this request."""


class Truncated(EngineError):
    """The engine lost a part of the facts, so its answer would have been a partial one."""


class Retired(EngineError):
    """A session of this engine could not be cleaned up, so it answers no more."""


class FiringBudgetExceeded(EngineError):
    """The request would fire more rules than one request may on the engine."""


KINDS = ("truncated", "firing-budget", "retired", "not-loaded", "other")
"""What `kind_of` tells apart; "not-loaded" is an engine that could not be used from the start."""

_KINDS: dict[type[Exception], str] = {Truncated: "truncated", FiringBudgetExceeded: "firing-budget", Retired: "retired"}


def kind_of(error: Exception) -> str:
    """The kind of an engine's failure, one of KINDS."""
    return _KINDS.get(type(error), "other")


class TooManyMatches(RuntimeError):
    """The facts fit the rules in more ways than one request may ask for, on any engine."""
