"""GET /v1/schemas/situation."""

from flask import Response, current_app, jsonify

from tacticapi.api.contract import situation_json_schema
from tacticapi.api.deployment import deployment
from tacticapi.api.headers import SCHEMA_TYPE
from tacticapi.api.nouns import Noun

blueprint = Noun("schemas", "JSON Schemas of what may be posted.", of_the_rulebook=True)


@blueprint.route("/v1/schemas/situation")
@blueprint.response(200, {"type": "object"}, content_type=SCHEMA_TYPE, description="A JSON Schema, draft 2020-12.")
@blueprint.doc(operationId="getSituationSchema")
def get_situation_schema() -> Response:
    """Get the JSON Schema of a situation.

    Self-contained, for the rules that answer here. It refuses nothing that is taken; what it cannot say is told when
    a body is posted: a part beyond its whole, and a score that no match reaches.
    """
    response = jsonify(situation_json_schema(current_app, deployment().rulebook))
    response.content_type = SCHEMA_TYPE
    return response
