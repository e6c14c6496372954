"""Why a matcher gave no answer."""


class EngineError(RuntimeError):
    """The engine gave no complete answer to this request."""


class Truncated(EngineError):
    """The engine lost a part of the facts, so its answer would have been a partial one."""


class Retired(EngineError):
    """A session of this engine could not be cleaned up, so it answers no more."""


class FiringBudgetExceeded(EngineError):
    """The request would fire more rules than one request may on the engine."""


class TooManyMatches(RuntimeError):
    """The facts fit the rules in more ways than one request may ask for, on any engine."""
