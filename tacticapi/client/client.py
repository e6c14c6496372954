"""The client: everything that one service offers."""

from types import TracebackType
from typing import Self

from tacticapi.client.calls import Calls
from tacticapi.client.keeping import Keeping
from tacticapi.client.lookups import Lookups
from tacticapi.client.stateless import Stateless

TIMEOUT_S = 30.0
RETRIES = 3


class Client(Stateless, Lookups, Keeping):
    """A service at an address, opened by the token of a club.

    `timeout` is in seconds. `retries` is how often a call is repeated that may be: one that changes nothing, and an
    addition, which carries an idempotency key. Between tries it waits longer each time, or as the service asks.
    Every failure is a ClientError. Give each thread a client of its own.
    """

    def __init__(
        self, url: str, token: str | None = None, *, timeout: float = TIMEOUT_S, retries: int = RETRIES
    ) -> None:
        self._calls = Calls(url, token, timeout=timeout, retries=retries)

    def __repr__(self) -> str:
        return f"Client({self._calls.url!r})"

    def close(self) -> None:
        """Let go of the connections; `with Client(...) as client:` does it at its end."""
        self._calls.session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
