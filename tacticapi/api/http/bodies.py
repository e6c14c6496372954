"""Parse JSON bodies and queries; every refusal is a problem document."""

from typing import Any, NoReturn

import flask
from flask import request
from marshmallow import RAISE, Schema, ValidationError
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import HTTPException

from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import faults_of
from tacticapi.api.http.problems import refuse
from tacticapi.club import IdempotentRequest, Refused
from tacticapi.posted import StrictJsonError, strict_json
from tacticapi.rulebook.files import Fault

MAX_BODY = 1024 * 1024  # bytes
MAX_IMPORT, IMPORT_PATH = 8 * MAX_BODY, "/v1/club/import"  # the only body that may be larger


class StrictParser(FlaskParser):
    """Parses bodies with `strict_json` and refuses unknown query names. Keeps one schema per process."""

    wrong_body = "invalid-situation"
    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {  # noqa: RUF012  (webargs declares it so)
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": RAISE,
    }

    def _get_schema(self, argmap: Any, req: flask.Request) -> Schema:
        return deployment().schema(argmap)

    def load_querystring(self, req: flask.Request, schema: Schema) -> Any:
        """Return the query. Refuse a repeated name, because it is unclear which value counts."""
        if twice := [name for name, values in req.args.lists() if len(values) > 1]:
            refuse("invalid-query", faults=[Fault((name,), req.args.getlist(name), "one value") for name in twice])
        return super().load_querystring(req, schema)

    def _raw_load_json(self, req: flask.Request) -> Any:
        return json_body(req)

    def handle_error(self, error: ValidationError, req: flask.Request, schema: Schema, **kwargs: Any) -> NoReturn:
        """Refuse the request with every fault."""
        location, messages = next(iter(error.messages_dict.items()))
        posted = req.args if location == "query" else error.data
        refuse("invalid-query" if location == "query" else self.wrong_body, faults=list(faults_of(messages, posted)))


class BodyParser(StrictParser):
    """The same parser for bodies other than situations."""

    wrong_body = "invalid-body"


def json_body(request: flask.Request) -> Any:
    """Return the JSON value of the UTF-8 body. If it is invalid or ambiguous, end the request."""
    sent, charset = request.content_type, request.mimetype_params.get("charset", "utf-8").lower()
    if not request.is_json or request.mimetype == OTHER_PATCH or charset not in ("utf-8", "utf8"):
        refuse("unsupported-media-type", f"sent: {sent[:100]}" if sent else "no Content-Type was sent")
    try:
        return strict_json(plain_body(request))
    except StrictJsonError as error:
        refuse("invalid-json", faults=error.faults)


def plain_body(request: flask.Request) -> bytes:
    """Return the uncompressed body. A body without a length would be cut off at the limit, so it is refused there."""
    if (coding := request.headers.get("Content-Encoding", "identity").lower()) != "identity":
        refuse("unsupported-media-type", f"sent: Content-Encoding {coding[:100]}")
    try:
        body = request.get_data(cache=False)
    except HTTPException:
        raise
    except Exception:
        refuse("broken-request", "the body cannot be read")
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(body) >= limit:
        refuse("body-too-large", f"at most {limit} bytes")
    return body


OTHER_PATCH = "application/json-patch+json"  # RFC 6902, a list of steps; changes here are merge patches
HEADER = "Idempotency-Key"


def once(body: Any) -> IdempotentRequest | None:
    """Return the request's key and the hash of its method, path and body; None without a key."""
    key = request.headers.get(HEADER)
    if key is None:
        return None
    try:
        return IdempotentRequest.of(key, [request.method, request.path, body])
    except Refused as refused:
        faults = [type(fault)((HEADER,), fault.value, fault.expected) for fault in refused.faults]
        refuse("invalid-header", faults=faults)
