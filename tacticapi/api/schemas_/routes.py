"""/v1/schemas: the list, and each."""

from dataclasses import asdict

from flask import Response, current_app, jsonify

from tacticapi.api.contract import json_schema
from tacticapi.api.deployment import deployment
from tacticapi.api.headers import SCHEMA_TYPE
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.problems import NOT_FOUND, refuse
from tacticapi.api.schemas_.named import SCHEMAS
from tacticapi.api.schemas_.schemas import PublishedSchemasSchema

blueprint = Noun("schemas", "JSON Schemas of what is posted and answered.", of_the_rulebook=True)
_NAME = {"in": "path", "name": "name", "required": True, "description": "Name of a schema."}


@blueprint.route("/v1/schemas")
@blueprint.response(200, PublishedSchemasSchema, description="The schemas.")
@blueprint.doc(operationId="listSchemas")
def list_schemas() -> Response:
    """List the JSON Schemas.

    Of what is posted, and of what is answered.
    """
    return answer({"items": [asdict(named) | {"address": named.address} for named in SCHEMAS.values()]})


@blueprint.route("/v1/schemas/<name>", parameters=[{**_NAME, "schema": {"type": "string", "enum": list(SCHEMAS)}}])
@blueprint.response(200, {"type": "object"}, content_type=SCHEMA_TYPE, description="A JSON Schema, draft 2020-12.")
@blueprint.doc(operationId="getSchema")
def get_schema(name: str) -> Response:
    """Get one JSON Schema.

    Self-contained, for the rules that answer here. It refuses nothing that is taken; what it cannot say is told when
    a body is posted: a part beyond its whole, and a score that no match reaches.
    """
    named = SCHEMAS.get(name)
    if named is None:
        refuse(NOT_FOUND, f"known: {', '.join(SCHEMAS)}")
    response = jsonify(json_schema(current_app, deployment().rulebook, named.component, named.address))
    response.content_type = SCHEMA_TYPE
    return response
