"""GET /v1/vocabulary."""

from typing import Any

from flask import Response

from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun
from tacticapi.api.paging import listed, paged
from tacticapi.api.vocabulary.schemas import KindPage, VocabularyQuery, kind_body

blueprint = Noun("vocabulary", "What can be seen, and how it may be said.", of_the_rulebook=True)


@blueprint.route("/v1/vocabulary")
@blueprint.arguments(VocabularyQuery, location="query")
@blueprint.response(200, KindPage, description="One page of kinds.")
@blueprint.doc(operationId="listVocabulary")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List what can be observed.

    In vocabulary order. Each kind says where it is posted, in which ways it may be said, and which qualifiers it takes.
    """
    kinds = list(deployment().rulebook.kinds.values())
    subject, phase = listed(query, "subject", {kind.subject: None for kind in kinds}), query.get("phase")
    wanted = [k for k in kinds if subject in (None, k.subject) and (phase is None or phase in k.phases)]
    return paged(wanted, query, lambda kind: kind.id, kind_body)
