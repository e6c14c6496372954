"""POST /v1/calculations/win-chance, /importance and /serve-mix."""

from flask import Response

from tacticapi.api.calculations.importance import importance_body
from tacticapi.api.calculations.points import ImportanceQuestionSchema, Points, WinChanceQuestionSchema
from tacticapi.api.calculations.schemas import ImportanceTableSchema, ServeMixSchema, WinChanceSchema
from tacticapi.api.calculations.serve_mix import serve_mix_body
from tacticapi.api.calculations.serves import ServeMixQuestionSchema, ServesAsked
from tacticapi.api.calculations.win_chance import win_chance_body
from tacticapi.api.deployment import deployment
from tacticapi.api.nouns import Noun, answer

blueprint = Noun(
    "calculations", "What a model makes of a score or of counted serves. Nothing is kept.", closable="advise"
)


@blueprint.route("/v1/calculations/win-chance", methods=["POST"])
@blueprint.arguments(WinChanceQuestionSchema)
@blueprint.response(200, WinChanceSchema, description="The chances.")
@blueprint.doc(operationId="calculateWinChance")
def calculate_win_chance(asked: Points) -> Response:
    """Calculate your chances to win match, set and game from a score.

    Exact for points that are independent given the server. Post exact point chances, or points played: then each
    chance is the mean over what they leave open, with 10th and 90th percentile, from a prior by level that is a model
    default. With the server unknown both are averaged. A model's calculation, no promise, and not for betting. During
    a match, say `moment` and `context`: where the event does not permit it, only the notice stands.
    """
    return answer(win_chance_body(asked, deployment().rulebook.defaults))


@blueprint.route("/v1/calculations/importance", methods=["POST"])
@blueprint.arguments(ImportanceQuestionSchema)
@blueprint.response(200, ImportanceTableSchema, description="The importance of each point.")
@blueprint.doc(operationId="calculateImportance")
def calculate_importance(asked: Points) -> Response:
    """Calculate how much each point of the game or tie-break in progress matters.

    The importance of a point is the chance if it is won minus the chance if it is lost, the same for both players.
    A score must name its server. A model's calculation, no promise, and not for betting. During a match, say `moment`
    and `context`: where the event does not permit it, only the notice stands.
    """
    return answer(importance_body(asked, deployment().rulebook.defaults))


@blueprint.route("/v1/calculations/serve-mix", methods=["POST"])
@blueprint.arguments(ServeMixQuestionSchema)
@blueprint.response(200, ServeMixSchema, description="The mix.")
@blueprint.doc(operationId="calculateServeMix")
def calculate_serve_mix(asked: ServesAsked) -> Response:
    """Calculate where to serve how often, and whether your serves so far give you away.

    The mix that wins most points against a receiver who answers it, for each court, with an order for the next ten
    serves that nobody can guess. What was not counted is a model default. A model's calculation, no promise, and not
    for betting. During a match, say `moment` and `context`: where the event does not permit it, only the notice stands.
    """
    return answer(serve_mix_body(asked, deployment().rulebook.defaults))
