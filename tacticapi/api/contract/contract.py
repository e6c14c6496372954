"""flask-smorest's Api with problem documents as errors and the rulebook's vocabulary in its schemas."""

from http import HTTPStatus
from typing import Any

import flask_smorest
from flask import Flask
from marshmallow import fields

from tacticapi.api.contract.headers import HEADERS, SAYS
from tacticapi.api.contract.texts import ABOUT, TAG_ORDER
from tacticapi.api.contract.vocabulary import component_of, observation_ids, profile_components
from tacticapi.api.nouns import IDEMPOTENCY_KEY, SECURITY
from tacticapi.api.problems import MEDIA_TYPE
from tacticapi.api.problems_schema import ProblemSchema
from tacticapi.api.situations.observations import KindId
from tacticapi.api.situations.profiles import Profile
from tacticapi.club.services import MAX_KEY
from tacticapi.domain.rulebook import Rulebook

EXTENSION = "tacticapi-contract"
METHODS = frozenset({"get", "post", "patch", "put", "delete"})
TOKEN = {
    "type": "http",
    "scheme": "bearer",
    "description": "A token of a club (RFC 6750). The operation names the scope that it takes: observe, advise, read "
    "or manage. A service that only its own machine reaches needs none.",
}
KEY = {
    "name": "Idempotency-Key",
    "description": "A key of the client's own. What comes again with it and the same body is done once and answered as "
    "before; with another body it is refused. Known for seven days.",
    "schema": {"type": "string", "minLength": 1, "maxLength": MAX_KEY},
}


class Contract(flask_smorest.Api):
    """Registers nouns and describes them. Errors are handled by the application, not here."""

    def __init__(self, app: Flask, rulebook: Rulebook) -> None:
        """Describe the application by what this rulebook knows."""
        options = {"info": ABOUT, "servers": [{"url": "/"}]}
        self._ids = observation_ids(rulebook)
        super().__init__(app, spec_kwargs=options)
        app.extensions[EXTENSION] = self
        for name, component in profile_components(rulebook).items():
            self.spec.components.schema(name, component)
        self.spec.components.security_scheme(SECURITY, TOKEN)
        self.spec.components.parameter(IDEMPOTENCY_KEY, "header", KEY, lazy=True)

    def _init_spec(self, **options: Any) -> None:
        super()._init_spec(**options)
        self.ma_plugin.converter.add_attribute_function(self._vocabulary2properties())

    def _vocabulary2properties(self) -> Any:
        ids = self._ids

        def vocabulary2properties(converter: Any, field: fields.Field[Any], **kwargs: Any) -> dict[str, Any]:
            """What the rulebook says about a field: the ids it takes, or the names of an object."""
            if isinstance(field, KindId):
                return {"enum": ids}
            if isinstance(field, Profile):
                reference = f"#/components/schemas/{component_of(field.subject)}"
                return {"anyOf": [{"$ref": reference}, {"type": "null"}]}
            return {}

        return vocabulary2properties

    def _register_error_handlers(self) -> None:
        """The application writes problem documents itself."""

    def _register_responses(self) -> None:
        for status in HTTPStatus:
            response: dict[str, Any] = {"description": SAYS.get(status, status.phrase)}
            if status in HEADERS:
                response["headers"] = HEADERS[status]
            if status >= 400:
                response["content"] = {MEDIA_TYPE: {"schema": ProblemSchema}}
            self.spec.components.response(status.name, response, lazy=status is not HTTPStatus.NOT_FOUND)
        problem = {"description": "A problem.", "content": {MEDIA_TYPE: {"schema": ProblemSchema}}}
        self.spec.components.response(self.DEFAULT_ERROR_RESPONSE_NAME, problem, lazy=True)

    def described(self) -> dict[str, Any]:
        """The contract without examples, its parts in the order in which they are read."""
        made: dict[str, Any] = self.spec.to_dict()
        made["tags"] = sorted(made["tags"], key=lambda tag: TAG_ORDER.index(tag["name"]))
        made["info"] = _ordered(made["info"], ("title", "version"))
        for address, path in made["paths"].items():
            for method in path.keys() & METHODS:
                path[method].setdefault("security", [])  # open to everyone, and said so
                path[method] = _ordered(path[method], _OPERATION_ORDER)
                if "{" in address:
                    path[method]["responses"]["404"] = {"$ref": "#/components/responses/NOT_FOUND"}
                path[method]["responses"] = dict(sorted(path[method]["responses"].items()))
        made["components"]["schemas"].pop("PaginationMetadata", None)  # of the library's own paging, which is not used
        return _ordered(made, ("openapi", "info", "servers", "tags", "paths", "components"))


_OPERATION_ORDER = (
    "tags",
    "summary",
    "description",
    "operationId",
    "security",
    "parameters",
    "requestBody",
    "responses",
)


def _ordered(made: dict[str, Any], first: tuple[str, ...]) -> dict[str, Any]:
    return {**{name: made[name] for name in first if name in made}, **made}
