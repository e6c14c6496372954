"""Call one service over HTTP: retry safe requests, follow pages, and raise every failure as an exception (RFC 9457)."""

import random
import time
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any
from uuid import uuid4

import requests
from requests.exceptions import ChunkedEncodingError, ContentDecodingError

from tacticapi.client.shown import Text

Json = dict[str, Any]
PASSING = frozenset({429, 502, 503, 504})  # statuses of temporary failures, worth a retry
LOST = (requests.ConnectionError, requests.Timeout, ChunkedEncodingError, ContentDecodingError)
FIRST_WAIT_S, MAX_WAIT_S = 0.5, 8.0
MAX_RETRY_AFTER_S = 60.0  # after a longer Retry-After, the caller decides
JSON, JSON_LINES = "application/json", "application/x-ndjson"


class ClientError(Exception):
    """Base class of all errors of this client."""


class Unreachable(ClientError):
    """No response: no server, a broken connection or a timeout. A write may or may not have happened."""


class BrokenAnswer(ClientError):
    """The response is not from the service; it may be a proxy's error page."""


class Problem(ClientError):
    """The service refused the request or failed; see `document`. If `retry_after` is set, wait that many seconds."""

    def __init__(self, response: requests.Response, retry_after: float | None) -> None:
        try:
            self.document = body_of(response)
        except BrokenAnswer:
            self.document = {}
        self.status = response.status_code
        self.type = str(self.document.get("type", "about:blank"))
        self.title = str(self.document.get("title", f"HTTP status {self.status}"))
        self.detail: str | None = self.document.get("detail")
        self.errors = [error for error in self.document.get("errors") or () if isinstance(error, dict)]
        self.request_id = response.headers.get("X-Request-ID")
        self.retry_after = retry_after
        head = f"{self.status} {self.title}" + (f" ({self.detail})" if self.detail else "")
        tail = [f"request {self.request_id}"] if self.request_id else []
        super().__init__("\n".join([head, *(f"- {_fault(error)}" for error in self.errors), *tail]))


class Invalid(Problem):
    """400, 413, 415, 422: the request is invalid; `errors` lists the reasons."""


class NoToken(Problem):
    """401: the token is missing or invalid."""


class NoScope(Problem):
    """403: the token lacks the scope, or the event does not permit the request now; `title` says which."""


class NotFound(Problem):
    """404: the club has no such record."""


class NotNow(Problem):
    """409: the request conflicts with stored data, for example a label that is taken or a debrief during the match."""


class ChangedMeanwhile(Problem):
    """412: someone else has changed the record since it was read."""


class Unavailable(Problem):
    """429, 502, 503, 504: the service is unavailable now; retry after `retry_after` seconds."""


BY_STATUS: Mapping[int, type[Problem]] = {
    **dict.fromkeys((400, 413, 415, 422), Invalid),
    401: NoToken,
    403: NoScope,
    404: NotFound,
    409: NotNow,
    412: ChangedMeanwhile,
    **dict.fromkeys(PASSING, Unavailable),
}


class Calls:
    """HTTP calls to one service. `timeout` (s) limits connecting and each gap between bytes. Not thread-safe."""

    def __init__(self, url: str, token: str | None, *, timeout: float, retries: int) -> None:
        self.url = url.rstrip("/")
        self._timeout, self._retries = timeout, retries
        self.session = requests.Session()
        self.session.auth = lambda request: request  # otherwise requests would look for a password in ~/.netrc
        self.session.headers["User-Agent"] = "tacticapi-python"
        if token:
            self.session.headers["Authorization"] = f"Bearer {token}"

    def get(self, path: str, *, accept: str = JSON, held: str | None = None, **query: Any) -> requests.Response:
        """Return the response to a safe request; it is 304 if `held`, the caller's ETag, is current."""
        headers = given({"Accept": accept, "If-None-Match": held})
        return self.send("GET", path, repeatable=True, params=given(query), headers=headers)

    def read(self, path: str, **query: Any) -> Json:
        """Return the JSON object from a safe request."""
        return body_of(self.get(path, **query))

    def text(self, path: str, *, accept: str, **query: Any) -> Text:
        """Return the text from a safe request."""
        return Text(self.get(path, accept=accept, **query).content.decode(errors="replace"), accept)

    def pages(self, path: str, **query: Any) -> Iterator[Json]:
        """Yield the items of a list; fetch each page when needed, following the Link to the next page (RFC 8288)."""
        further: str | None = path
        while further is not None:
            response = self.get(further, **query)
            yield from items_of(response)
            further, query = response.links.get("next", {}).get("url"), {}

    def ask(self, path: str, question: Any, **query: Any) -> Json:
        """Return the response to a posted query. The service stores nothing, so the call can be retried."""
        headers = {"Accept": JSON}
        return body_of(self.send("POST", path, repeatable=True, params=given(query), json=question, headers=headers))

    def add(self, path: str, body: Any, *, key: str | None = None) -> requests.Response:
        """Post an addition as JSON, or as JSON Lines text. Its idempotency key makes a retry safe."""
        content = {"data": body.encode()} if isinstance(body, str) else {"json": body}
        headers = {"Idempotency-Key": key or str(uuid4()), "Content-Type": JSON_LINES if "data" in content else JSON}
        return self.send("POST", path, repeatable=True, headers=headers, **content)

    def once(self, method: str, path: str, body: Any = None, *, version: str | None = None) -> requests.Response:
        """Send a write that is never retried; `version` is the ETag of the record as read."""
        return self.send(method, path, repeatable=False, json=body, headers=given({"If-Match": version}))

    def send(self, method: str, path: str, *, repeatable: bool, **more: Any) -> requests.Response:
        """Return the first response that is a success or 304. Raises Problem and Unreachable."""
        address, attempt = self.url + path, 0
        while True:
            again = repeatable and attempt < self._retries
            wait = random.uniform(0.5, 1.0) * min(MAX_WAIT_S, FIRST_WAIT_S * 2**attempt)
            try:
                response = self.session.request(method, address, timeout=self._timeout, allow_redirects=False, **more)
            except LOST as error:
                if not again:
                    timed_out = isinstance(error, requests.Timeout)
                    reason = "the request timed out" if timed_out else "the response was incomplete"
                    raise Unreachable(f"{method} {address}: {reason}") from error
            else:
                if response.status_code < 300 or response.status_code == 304:
                    return response
                asked = retry_after(response)
                if response.status_code not in PASSING or not again or (asked or 0.0) > MAX_RETRY_AFTER_S:
                    raise BY_STATUS.get(response.status_code, Problem)(response, asked)
                wait = wait if asked is None else asked
            time.sleep(wait)
            attempt += 1


def given(members: Mapping[str, Any]) -> Json:
    """Return the members that are not None."""
    return {name: value for name, value in members.items() if value is not None}


def body_of(response: requests.Response) -> Json:
    """Return the JSON object in a response. Raises BrokenAnswer if it has none."""
    try:
        body = response.json()
    except requests.JSONDecodeError:
        body = None
    if isinstance(body, dict):
        return body
    found = response.headers.get("Content-Type", "no content type")
    raise BrokenAnswer(f"{response.url} responded {response.status_code} without a JSON object ({found})")


def items_of(response: requests.Response) -> list[Json]:
    """Return the items in a list. Raises BrokenAnswer if the response has none."""
    items = body_of(response).get("items")
    if isinstance(items, list):
        return items
    raise BrokenAnswer(f"{response.url} responded without a list of items")


def retry_after(response: requests.Response) -> float | None:
    """Return the seconds of Retry-After, given in seconds or as a date (RFC 9110); None if it is missing or invalid."""
    value = response.headers.get("Retry-After", "").strip()
    if value.isdecimal():
        return float(value)
    try:
        at = parsedate_to_datetime(value)
    except ValueError:
        return None
    return max(0.0, (at.replace(tzinfo=at.tzinfo or UTC) - datetime.now(UTC)).total_seconds())


def _fault(error: Mapping[str, Any]) -> str:
    where = error.get("parameter") or error.get("pointer") or "the body"
    found = "" if error.get("value") is None else f", found {error['value']!r}"
    return f"{where}: expected {error.get('expected', '')}{found}"
