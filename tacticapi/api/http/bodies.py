"""Read strict JSON bodies and queries; every refusal is a problem document.

A body is refused if two readers could understand it differently (RFC 8259 and RFC 7493, I-JSON): UTF-8, no duplicate
names, no NaN or Infinity, no number beyond 2^53, no lone surrogates, no NUL, at most 20 levels.
"""

import json
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NoReturn

import flask
from flask import request
from marshmallow import RAISE, Schema, ValidationError
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import HTTPException

from tacticapi.api.http import problems
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import faults_of, refuse
from tacticapi.club import IdempotentRequest, Refused
from tacticapi.rulebook.files import Fault

MAX_DEPTH = 20
MAX_NUMBER = 2**53  # beyond it a float no longer tells neighbouring whole numbers apart
MAX_DIGITS = 20
_DEPTH = f"at most {MAX_DEPTH} levels of lists and objects"
_NUMBER = "a number no further from zero than 2^53"

Path = tuple[str | int, ...]


class StrictJsonError(ValueError):
    """The body is not valid, unambiguous JSON. `faults` says where and what was expected."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


class _Repeated(dict[str, Any]):
    """An object in which these names stand more than once; the last value of each is kept."""

    names: tuple[str, ...] = ()


def strict_json(body: bytes) -> Any:
    """Return the JSON value of a body. Raises StrictJsonError with every fault that can be told."""
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise StrictJsonError([Fault((), None, f"UTF-8 text; byte {error.start} is none")]) from None
    try:
        value = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        where = f"JSON; line {error.lineno}, column {error.colno}: {error.msg.lower()}"
        raise StrictJsonError([Fault((), None, where)]) from None
    except RecursionError:
        raise StrictJsonError([Fault((), None, _DEPTH)]) from None
    faults = [] if _harmless(value) else list(_faults(value, (), 1))
    if faults:
        raise StrictJsonError(faults)
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) == len(pairs):
        return made
    times = Counter(name for name, _ in pairs)
    repeated = _Repeated(made)
    repeated.names = tuple(name for name in made if times[name] > 1)
    return repeated


def _whole(digits: str) -> float:
    return int(digits) if len(digits) <= MAX_DIGITS else math.inf


_DECODER = json.JSONDecoder(object_pairs_hook=_object, parse_int=_whole, parse_constant=float)


def _faults(value: Any, at: Path, depth: int) -> Iterator[Fault]:
    """Return the faults of a value that is not harmless, looking down only where there is something to look at."""
    if isinstance(value, str):
        if not _plain(value):
            yield Fault(at, value, "a text without NUL and lone surrogates")
    elif isinstance(value, (dict, list)):
        if depth > MAX_DEPTH:
            yield Fault(at, value, _DEPTH)
            return
        if isinstance(value, dict):
            yield from _name_faults(value, at)
        for step, item in value.items() if isinstance(value, dict) else enumerate(value):
            if not _harmless(item):
                yield from _faults(item, (*at, step), depth + 1)
    else:
        yield Fault(at, value, _NUMBER)


def _harmless(value: Any) -> bool:
    kind = type(value)
    if kind is str:
        return value.isascii() and "\x00" not in value
    return kind is bool or value is None or ((kind is int or kind is float) and -MAX_NUMBER <= value <= MAX_NUMBER)


def _name_faults(value: dict[str, Any], at: Path) -> Iterator[Fault]:
    if isinstance(value, _Repeated):
        for name in value.names:
            yield Fault((*at, name), value[name], "each name once in an object")
    for name in value:
        if not _plain(name):
            yield Fault((*at, name), name, "a name without NUL and lone surrogates")


def _plain(text: str) -> bool:
    return "\x00" not in text and (text.isascii() or not any("\ud800" <= letter <= "\udfff" for letter in text))


class StrictParser(FlaskParser):
    """Reads bodies by `strict_json` and queries without unknown names; keeps one schema a process."""

    wrong_body = problems.INVALID_SITUATION
    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {  # noqa: RUF012  (webargs declares it so)
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": RAISE,
    }

    def _get_schema(self, argmap: Any, req: flask.Request) -> Schema:
        return deployment().schema(argmap)

    def load_querystring(self, req: flask.Request, schema: Schema) -> Any:
        """Return the query, in which each name stands once: of two values nobody knows which one is meant."""
        if twice := [name for name, values in req.args.lists() if len(values) > 1]:
            refuse(
                problems.INVALID_QUERY, faults=[Fault((name,), req.args.getlist(name), "one value") for name in twice]
            )
        return super().load_querystring(req, schema)

    def _raw_load_json(self, req: flask.Request) -> Any:
        return json_body(req)

    def handle_error(
        self,
        error: ValidationError,
        req: flask.Request,
        schema: Schema,
        *,
        error_status_code: int | None,
        error_headers: Mapping[str, str] | None,
    ) -> NoReturn:
        """Refuse with every fault that was found."""
        location, messages = next(iter(error.messages_dict.items()))
        posted = req.args if location == "query" else error.data
        refuse(
            problems.INVALID_QUERY if location == "query" else self.wrong_body, faults=list(faults_of(messages, posted))
        )


class BodyParser(StrictParser):
    """The same for bodies that are no situation."""

    wrong_body = problems.INVALID_BODY


def json_body(request: flask.Request) -> Any:
    """Return the JSON value of the body. Ends the request if it is none that everyone reads alike."""
    if not is_json(request):
        sent = request.content_type
        refuse(problems.MEDIA_TYPE_REFUSED, f"sent: {sent[:100]}" if sent else "no Content-Type was sent")
    try:
        return strict_json(plain_body(request))
    except StrictJsonError as error:
        refuse(problems.INVALID_JSON, faults=error.faults)


def plain_body(request: flask.Request) -> bytes:
    """Return the whole body, which must not be packed."""
    if (coding := request.headers.get("Content-Encoding", "identity").lower()) != "identity":
        refuse(problems.MEDIA_TYPE_REFUSED, f"sent: Content-Encoding {coding[:100]}")
    return whole_body(request)


def whole_body(request: flask.Request) -> bytes:
    """Return the body. One without a length is cut at the limit by the framework, so it is refused there."""
    try:
        body = request.get_data(cache=False)
    except HTTPException:
        raise
    except Exception:
        refuse(problems.BROKEN_REQUEST, "the body cannot be read")
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(body) >= limit:
        refuse(problems.TOO_LARGE, f"at most {limit} bytes")
    return body


def is_json(request: flask.Request) -> bool:
    """Whether the body says to be JSON in UTF-8: application/json or a type that ends in +json."""
    mimetype = request.mimetype
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    is_type = mimetype == "application/json" or (mimetype.startswith("application/") and mimetype.endswith("+json"))
    return is_type and mimetype != OTHER_PATCH and charset in ("utf-8", "utf8")


OTHER_PATCH = "application/json-patch+json"  # RFC 6902, a list of steps: changes here are merge patches
HEADER = "Idempotency-Key"


def once(body: Any) -> IdempotentRequest | None:
    """Return the key of this request with the hash of method, address and body; None if no key was sent."""
    key = request.headers.get(HEADER)
    if key is None:
        return None
    try:
        return IdempotentRequest.of(key, [request.method, request.path, body])
    except Refused as refused:
        faults = [type(fault)((HEADER,), fault.value, fault.expected) for fault in refused.faults]
        refuse(problems.INVALID_HEADER, faults=faults)
