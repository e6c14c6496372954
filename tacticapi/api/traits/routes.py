"""GET /v1/traits."""

from typing import Any

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun
from tacticapi.api.paging import PageQuery, paged
from tacticapi.api.traits.schemas import TraitPage, trait_body

blueprint = Noun("traits", "What may be true of an opponent.", of_the_rulebook=True)


@blueprint.route("/v1/traits")
@blueprint.arguments(PageQuery, location="query")
@blueprint.response(200, TraitPage, description="One page of traits.")
@blueprint.doc(operationId="listTraits")
def list_traits(query: dict[str, Any]) -> Response:
    """List the traits.

    In the order in which `beliefs` names them, each with its prior and what speaks for or against it.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, trait_body)
