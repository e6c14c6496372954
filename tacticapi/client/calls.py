"""HTTP, and what comes back: one session, retries of what may be repeated, pages, every failure as an exception.

JSON is read into frozen dataclasses by their type hints. Names that are not known are no error: `raw` holds everything.
Pages and pictures come as texts that a notebook shows and a program may save.
"""

import random
import re
import time
import types
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from functools import cache
from html import escape
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints
from uuid import uuid4

import requests
from requests.auth import AuthBase

from tacticapi.client.problems import BrokenAnswer, Unreachable, problem_of

_SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
HEIGHT_PX = 640
Some = TypeVar("Some", bound="Answer")
PASSING = frozenset({429, 502, 503, 504})  # statuses that may be gone when asked again
LOST = (
    requests.ConnectionError,
    requests.Timeout,
    requests.exceptions.ChunkedEncodingError,
    requests.exceptions.ContentDecodingError,
)
FIRST_WAIT_S, MAX_WAIT_S = 0.5, 8.0
MAX_RETRY_AFTER_S = 60.0  # a service that asks for a longer wait is told to the caller instead
JSON = "application/json"

Query = Mapping[str, Any]


class Picture(str):
    """A picture as SVG text, its description for screen readers included."""

    __slots__ = ()

    def _repr_svg_(self) -> str:
        return str(self)


class Page(str):
    """A whole page as HTML text. It asks for nothing from outside and runs no script."""

    __slots__ = ()

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """The pictures on the page, such as the chance of the match after each point."""
        return tuple(Picture(found) for found in _SVG.findall(self))

    def _repr_html_(self) -> str:
        frame = f'sandbox title="Debrief" style="width: 100%; height: {HEIGHT_PX}px; border: 1px solid"'
        return f'<iframe {frame} srcdoc="{escape(str(self))}"></iframe>'


class Markdown(str):
    """A text in Markdown."""

    __slots__ = ()

    def _repr_markdown_(self) -> str:
        return str(self)


@dataclass(frozen=True, kw_only=True)
class Answer:
    """An object that the service answered with; `raw` is its JSON, members of later versions included."""

    raw: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)


def read(shape: type[Some], data: Any) -> Some:
    """The answer of this shape. What is absent is None, or empty where it is a list. Raises BrokenAnswer."""
    if not isinstance(data, Mapping):
        raise BrokenAnswer(f"expected a JSON object for {shape.__name__}, found {type(data).__name__}")
    hints = _hints(shape)  # type: ignore[arg-type]  # mypy takes the hash of an object for that of its class
    return shape(**{name: _value(hint, data.get(name)) for name, hint in hints.items()}, raw=data)


@cache
def _hints(shape: type[Answer]) -> dict[str, Any]:
    """The types of what the service answers with; what the client adds has a default."""
    hints = get_type_hints(shape)
    ours = (each for each in fields(shape) if each.default is MISSING and each.default_factory is MISSING)
    return {each.name: hints[each.name] for each in ours}


def _value(hint: Any, data: Any) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return None if data is None else _value(next(each for each in inner if each is not type(None)), data)
    if origin is tuple:
        if not isinstance(data, list | tuple | None):
            raise BrokenAnswer(f"expected a JSON list, found {type(data).__name__}")
        return tuple(_value(inner[0], each) for each in data or ())
    if isinstance(hint, type) and issubclass(hint, Answer):
        return None if data is None else read(hint, data)
    return datetime.fromisoformat(data) if hint is datetime and isinstance(data, str) else data


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
            wait = random.uniform(0.5, 1.0) * min(MAX_WAIT_S, FIRST_WAIT_S * 2**attempt)
            try:
                response = self.session.request(
                    method, self.url + path, timeout=self._timeout, allow_redirects=False, **more
                )
            except LOST as error:
                if not again:
                    raise Unreachable(f"{method} {self.url}{path}: {_reason(error)}") from error
            else:
                asked = retry_after(response)
                if response.status_code not in PASSING or not again or (asked or 0.0) > MAX_RETRY_AFTER_S:
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
