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
    INVALID_JSON,
    INVALID_QUERY,
    INVALID_SITUATION,
    MEDIA_TYPE_REFUSED,
    TOO_LARGE,
    faults_of,
    refuse,
)
from tacticapi.api.strict_json import StrictJsonError, strict_json


class StrictParser(FlaskParser):
    """Reads bodies by `strict_json` and queries without unknown names; keeps one schema a process."""

    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {  # noqa: RUF012  (webargs declares it so)
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": RAISE,
    }

    def _get_schema(self, argmap: Any, req: flask.Request) -> Schema:
        if isinstance(argmap, type) and issubclass(argmap, Schema):
            return deployment().schema(argmap)
        return super()._get_schema(argmap, req)

    def _raw_load_json(self, req: flask.Request) -> Any:
        if not is_json(req):
            sent = req.content_type
            refuse(MEDIA_TYPE_REFUSED, f"sent: {sent[:100]}" if sent else "no Content-Type was sent")
        if (coding := req.headers.get("Content-Encoding", "identity").lower()) != "identity":
            refuse(MEDIA_TYPE_REFUSED, f"sent: Content-Encoding {coding[:100]}")
        try:
            return strict_json(whole_body(req))
        except StrictJsonError as error:
            refuse(INVALID_JSON, faults=error.faults)

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
        refuse(INVALID_QUERY if location == "query" else INVALID_SITUATION, faults=list(faults_of(messages, posted)))


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
