"""GET /v1/sources."""

from typing import Any

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun
from tacticapi.api.paging import PageQuery, paged
from tacticapi.api.sources.schemas import SourcePage, source_entry

blueprint = Noun("sources", "Who says so.", of_the_rulebook=True)


@blueprint.route("/v1/sources")
@blueprint.arguments(PageQuery, location="query")
@blueprint.response(200, SourcePage, description="One page of sources.")
@blueprint.doc(operationId="listSources")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. What no source backs is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, source_entry)
