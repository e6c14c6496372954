"""A client for programs and notebooks. It depends only on requests, not on the rest of this package.

    from tacticapi.client import Client

    match = Client("http://127.0.0.1:8000").match(own="Larch", opponent="Sleet")
    match.saw("warmup.middle_ball_on_forehand", 7, of=8)
    print(match.advice("after-warm-up"))

It contains no service code; the contract, openapi/openapi.yaml, describes every member of a response.
Read `client` first, then `calls` for HTTP and failures, and `shown` for terminal and notebook output.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tacticapi.client.shown import Advice as Advice

if TYPE_CHECKING:
    from tacticapi.client.calls import BrokenAnswer as BrokenAnswer
    from tacticapi.client.calls import ChangedMeanwhile as ChangedMeanwhile
    from tacticapi.client.calls import ClientError as ClientError
    from tacticapi.client.calls import Invalid as Invalid
    from tacticapi.client.calls import NoScope as NoScope
    from tacticapi.client.calls import NotFound as NotFound
    from tacticapi.client.calls import NotNow as NotNow
    from tacticapi.client.calls import NoToken as NoToken
    from tacticapi.client.calls import Problem as Problem
    from tacticapi.client.calls import Unavailable as Unavailable
    from tacticapi.client.calls import Unreachable as Unreachable
    from tacticapi.client.client import Client as Client
    from tacticapi.client.client import Entry as Entry
    from tacticapi.client.client import Match as Match


def __getattr__(name: str) -> Any:
    """Import what calls a service when it is first used, because `requests` slows down commands that only print."""
    for module in ("client", "calls"):
        if hasattr(found := import_module(f"tacticapi.client.{module}"), name):
            return getattr(found, name)
    raise AttributeError(name)
