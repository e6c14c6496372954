"""Request ▶ checked arguments: strict JSON bodies and queries, every refusal a problem document."""

from collections.abc import Mapping
from typing import Any, NoReturn

import flask
from marshmallow import RAISE, Schema, ValidationError
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import HTTPException

from tacticapi.api.deployment import deployment
from tacticapi.api.problems import (
    BROKEN_REQUEST,
    INVALID_BODY,
    INVALID_JSON,
    INVALID_QUERY,
    INVALID_SITUATION,
    MEDIA_TYPE_REFUSED,
    TOO_LARGE,
    faults_of,
    refuse,
)
from tacticapi.api.strict_json import StrictJsonError, strict_json
from tacticapi.knowledge import Fault


class StrictParser(FlaskParser):
    """Reads bodies by `strict_json` and queries without unknown names; keeps one schema a process."""

    wrong_body = INVALID_SITUATION
    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {  # noqa: RUF012  (webargs declares it so)
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": RAISE,
    }

    def _get_schema(self, argmap: Any, req: flask.Request) -> Schema:
        return deployment().schema(argmap)

    def load_querystring(self, req: flask.Request, schema: Schema) -> Any:
        """The query, in which each name stands once: of two values nobody knows which one is meant."""
        if twice := [name for name, values in req.args.lists() if len(values) > 1]:
            refuse(INVALID_QUERY, faults=[Fault((name,), req.args.getlist(name), "one value") for name in twice])
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
        refuse(INVALID_QUERY if location == "query" else self.wrong_body, faults=list(faults_of(messages, posted)))


class BodyParser(StrictParser):
    """The same for bodies that are no situation."""

    wrong_body = INVALID_BODY


def json_body(request: flask.Request) -> Any:
    """The JSON value of the body. Ends the request where it is none that everyone reads alike."""
    if not is_json(request):
        sent = request.content_type
        refuse(MEDIA_TYPE_REFUSED, f"sent: {sent[:100]}" if sent else "no Content-Type was sent")
    try:
        return strict_json(plain_body(request))
    except StrictJsonError as error:
        refuse(INVALID_JSON, faults=error.faults)


def plain_body(request: flask.Request) -> bytes:
    """The whole body, which must not be packed."""
    if (coding := request.headers.get("Content-Encoding", "identity").lower()) != "identity":
        refuse(MEDIA_TYPE_REFUSED, f"sent: Content-Encoding {coding[:100]}")
    return whole_body(request)


def whole_body(request: flask.Request) -> bytes:
    """The body. One that does not say its length is cut at the limit by the framework, so it is refused there.

    Chunks that break the rules of HTTP reach us as whatever the server in front raises.
    """
    try:
        body = request.get_data(cache=False)
    except HTTPException:
        raise
    except Exception:
        refuse(BROKEN_REQUEST, "the body cannot be read")
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(body) >= limit:
        refuse(TOO_LARGE, f"at most {limit} bytes")
    return body


def is_json(request: flask.Request) -> bool:
    """Whether the body says to be JSON in UTF-8: application/json or a type that ends in +json."""
    mimetype = request.mimetype
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    is_type = mimetype == "application/json" or (mimetype.startswith("application/") and mimetype.endswith("+json"))
    return is_type and charset in ("utf-8", "utf8")
