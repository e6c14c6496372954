"""GET /v1/schemas/situation."""

from flask import Response, current_app, jsonify

from tacticapi.api.contract import situation_json_schema
from tacticapi.api.nouns import Noun

blueprint = Noun("schemas", "JSON Schemas of what may be posted.", of_the_rulebook=True)


@blueprint.route("/v1/schemas/situation")
@blueprint.response(
    200, {"type": "object"}, content_type="application/schema+json", description="A JSON Schema, draft 2020-12."
)
@blueprint.doc(operationId="getSituationSchema")
def get_situation_schema() -> Response:
    """Get the JSON Schema of a situation.

    Self-contained. It says what a body may look like; whether a count fits its kind and a score can be reached is
    told when it is posted.
    """
    response = jsonify(situation_json_schema(current_app))
    response.content_type = "application/schema+json"
    return response
