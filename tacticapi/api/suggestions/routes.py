"""POST /v1/suggestions."""

import uuid

from flask import Response

from tacticapi.api.nouns import Noun, answer
from tacticapi.api.situations.known import advised
from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.api.suggestions.presenter import advice_body
from tacticapi.api.suggestions.schemas import AdviceSchema
from tacticapi.domain.situation import Situation

blueprint = Noun("suggestions", "Ranked and explained suggestions.", closable="advise")


@blueprint.route("/v1/suggestions", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.response(200, AdviceSchema, description="The advice.")
@blueprint.doc(operationId="suggest")
def suggest(situation: Situation) -> Response:
    """Advise on a situation.

    Post what was seen; get ranked suggestions with reasons in counts, what each is worth, when to look again and who
    says so. Nothing is kept. The same body and rulebook give the same advice, `advice_id` aside. Where it names a kept
    opponent, what was learned in earlier matches counts too and is marked as such. Safety comes before tactics. Where
    the event does not permit coaching or a device at this moment, only safety and a notice are shown.
    """
    return answer(advice_body(advised(situation), str(uuid.uuid4())))
