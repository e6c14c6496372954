"""HTTP: one session, retries of what may be repeated, pages, and every failure as an exception."""

import random
import time
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any
from uuid import uuid4

import requests
from requests.auth import AuthBase

from tacticapi.client.problems import BrokenAnswer, Unreachable, problem_of

PASSING = frozenset({429, 502, 503, 504})  # statuses that may be gone when asked again
LOST = (
    requests.ConnectionError,
    requests.Timeout,
    requests.exceptions.ChunkedEncodingError,
    requests.exceptions.ContentDecodingError,
)
FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 8.0
LONGEST_ASKED_S = 60.0  # a service that asks for a longer wait is told to the caller instead
JSON = "application/json"

Query = Mapping[str, Any]


class Calls:
    """Calls to one service. `timeout` is in seconds, for the connection and between two bytes; not for threads."""

    def __init__(self, url: str, token: str | None, *, timeout: float, retries: int) -> None:
        self.url = url.rstrip("/")
        self._timeout, self._retries = timeout, retries
        self.session = requests.Session()
        self.session.auth = _Bearer(token)
        self.session.headers["User-Agent"] = "tacticapi-python"

    def get(self, path: str, query: Query | None = None, *, accept: str = JSON, held: str | None = None) -> Any:
        """The answer to a safe call; `held` is the ETag of what the caller has, then the status may be 304."""
        headers = {"Accept": accept} | ({"If-None-Match": held} if held else {})
        return self._send("GET", path, repeatable=True, params=_given(query), headers=headers)

    def read(self, path: str, query: Query | None = None) -> Any:
        """The JSON of an answer to a safe call."""
        return body_of(self.get(path, query))

    def text(self, path: str, query: Query | None = None, *, accept: str) -> str:
        """The text of an answer to a safe call."""
        response = self.get(path, query, accept=accept)
        response.encoding = "utf-8"
        return str(response.text)

    def pages(self, path: str, query: Query | None = None) -> Iterator[Any]:
        """The items of a list, page after page as they are needed, by the Link that each page gives (RFC 8288)."""
        response = self.get(path, query)
        while True:
            yield from body_of(response)["items"]
            further = response.links.get("next", {}).get("url")
            if further is None:
                return
            response = self.get(further)

    def ask(self, path: str, question: Any, query: Query | None = None) -> Any:
        """The JSON of an answer to a question that is posted and keeps nothing, so it may be repeated."""
        return body_of(self._send("POST", path, repeatable=True, params=_given(query), json=question))

    def ask_text(self, path: str, question: Any, *, accept: str) -> str:
        """The text of such an answer."""
        response = self._send("POST", path, repeatable=True, json=question, headers={"Accept": accept})
        response.encoding = "utf-8"
        return str(response.text)

    def add(self, path: str, body: Any, *, key: str | None = None) -> Any:
        """The JSON of an answer to an addition. Its key (made here where none is given) lets it be repeated safely."""
        return body_of(self._send("POST", path, repeatable=True, json=body, headers=_keyed(key)))

    def add_text(self, path: str, body: str, media_type: str, *, key: str | None = None) -> Any:
        """The same for a body that is no JSON."""
        headers = {**_keyed(key), "Content-Type": media_type}
        return body_of(self._send("POST", path, repeatable=True, data=body.encode(), headers=headers))

    def once(self, method: str, path: str, body: Any = None, *, version: str | None = None) -> Any:
        """The answer to a write that is never repeated; `version` is the ETag of what was read before the change."""
        headers = {"If-Match": version} if version else {}
        return self._send(method, path, repeatable=False, json=body, headers=headers)

    def _send(self, method: str, path: str, *, repeatable: bool, **more: Any) -> requests.Response:
        """The first answer that is a success or 304. Raises Problem and Unreachable."""
        attempt = 0
        while True:
            again = repeatable and attempt < self._retries
            wait = random.uniform(0.5, 1.0) * min(LONGEST_WAIT_S, FIRST_WAIT_S * 2**attempt)
            try:
                response = self.session.request(
                    method, self.url + path, timeout=self._timeout, allow_redirects=False, **more
                )
            except LOST as error:
                if not again:
                    raise Unreachable(f"{method} {self.url}{path}: {_reason(error)}") from error
            else:
                asked = retry_after(response)
                if response.status_code not in PASSING or not again or (asked or 0.0) > LONGEST_ASKED_S:
                    return _checked(response, asked)
                wait = wait if asked is None else asked
            time.sleep(wait)
            attempt += 1


class _Bearer(AuthBase):
    """The token of the caller and nothing else: without it requests would look for a password in ~/.netrc."""

    def __init__(self, token: str | None) -> None:
        self._token = token

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        if self._token:
            request.headers["Authorization"] = f"Bearer {self._token}"
        return request


def body_of(response: requests.Response) -> Any:
    """The JSON of an answer. Raises BrokenAnswer where it is none."""
    try:
        return response.json()
    except requests.JSONDecodeError as error:
        sort = response.headers.get("Content-Type", "nothing named")
        raise BrokenAnswer(f"{response.url} answered {response.status_code} with {sort}, which is no JSON") from error


def retry_after(response: requests.Response) -> float | None:
    """Seconds to wait by the Retry-After of an answer, which may be a date (RFC 9110); None where it says nothing."""
    said = response.headers.get("Retry-After", "").strip()
    if said.isdecimal():
        return float(said)
    try:
        at = parsedate_to_datetime(said)
    except ValueError:
        return None
    return max(0.0, (at.replace(tzinfo=at.tzinfo or UTC) - datetime.now(UTC)).total_seconds())


def _checked(response: requests.Response, asked: float | None) -> requests.Response:
    if response.status_code < 300 or response.status_code == 304:
        return response
    raise problem_of(response, asked)


def _given(query: Query | None) -> dict[str, Any]:
    return {name: value for name, value in (query or {}).items() if value is not None}


def _keyed(key: str | None) -> dict[str, str]:
    return {"Idempotency-Key": key or str(uuid4())}


def _reason(error: Exception) -> str:
    return "it took too long" if isinstance(error, requests.Timeout) else "no whole answer came"
