"""GET /v1/rulebook."""

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.rulebook.schemas import RulebookSchema, rulebook_body

blueprint = Noun("rulebook", "Which rules answer here.", of_the_rulebook=True)


@blueprint.route("/v1/rulebook")
@blueprint.response(200, RulebookSchema, description="The rulebook.")
@blueprint.doc(operationId="getRulebook")
def get_rulebook() -> Response:
    """Get version, digest, counts and defaults of the rulebook.

    The digest names exactly the rules that answer here; every advice carries it.
    """
    return answer(rulebook_body(deployment().rulebook))
