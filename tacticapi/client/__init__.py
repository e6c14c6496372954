"""A client for programs and notebooks. It needs requests and nothing else of this package.

    from tacticapi.client import Client

    match = Client("http://127.0.0.1:8000").match(own="Larch", opponent="Sleet")
    match.saw("warmup.middle_ball_on_forehand", 7, of=8)
    print(match.advice("after-warm-up"))

Not here: anything of the service; the contract, openapi/openapi.yaml, describes every member of an answer.
Next: `client`; then `calls` for HTTP and failures, `shown` for what a terminal and a notebook show.
"""

from tacticapi.client.calls import (
    BrokenAnswer,
    ChangedMeanwhile,
    ClientError,
    Invalid,
    NoScope,
    NotFound,
    NotNow,
    NoToken,
    Problem,
    Unavailable,
    Unreachable,
)
from tacticapi.client.client import Client, Entry, Match
from tacticapi.client.shown import Advice

__all__ = [
    "Advice",
    "BrokenAnswer",
    "ChangedMeanwhile",
    "Client",
    "ClientError",
    "Entry",
    "Invalid",
    "Match",
    "NoScope",
    "NoToken",
    "NotFound",
    "NotNow",
    "Problem",
    "Unavailable",
    "Unreachable",
]
