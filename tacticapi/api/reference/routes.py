"""/openapi.json, /docs, /problems and /.well-known/api-catalog."""

from collections.abc import Callable
from typing import Any, cast

from flask import Response, current_app, request

from tacticapi.api.contract.contract import EXTENSION, Contract
from tacticapi.api.nouns import Noun, answer
from tacticapi.api.offers import HTML, JSON, offers
from tacticapi.api.problems import NOT_FOUND, PROBLEMS, Problem, refuse
from tacticapi.api.reference.catalog import ADDRESS, LINKSET, PROFILE, catalog
from tacticapi.api.reference.page import POLICY, reference_page
from tacticapi.api.reference.schemas import ProblemKindSchema, ProblemKindsSchema

blueprint = Noun("reference", "About the service itself.", of_the_rulebook=True)
_OBJECT = {"schema": {"type": "object"}}


@blueprint.route("/openapi.json")
@blueprint.response(200, description="An OpenAPI 3.1 document.")
@blueprint.doc(operationId="getContract", responses={200: {"content": {JSON: _OBJECT}}})
def get_contract() -> Response:
    """Get the contract of this deployment.

    With the vocabulary of the rules in use, house rules included.
    """
    return Response(_once("contract", lambda: current_app.json.dumps(_described())), mimetype=JSON)


@blueprint.route("/docs")
@blueprint.response(200, description="A page.")
@blueprint.doc(operationId="getReference", responses={200: {"content": {HTML: {"schema": {"type": "string"}}}}})
@offers(HTML)
def get_reference() -> Response:
    """Get the contract as a page to read.

    The page is whole in itself: no script, and nothing from outside.
    """
    response = Response(_once("page", lambda: reference_page(_described())), mimetype=HTML)
    response.headers["Content-Security-Policy"] = POLICY
    return response


@blueprint.route("/problems")
@blueprint.response(200, ProblemKindsSchema, description="The types of problem.")
@blueprint.doc(operationId="listProblemKinds")
def list_problem_kinds() -> Response:
    """List every type of problem.

    Each with what it means and what to do about it.
    """
    return answer({"items": [_body(problem) for problem in PROBLEMS]})


@blueprint.route("/problems/<name>")
@blueprint.response(200, ProblemKindSchema, description="The type of problem.")
@blueprint.doc(operationId="getProblemKind")
def get_problem_kind(name: str) -> Response:
    """Get one type of problem.

    This is where the `type` of a problem document leads.
    """
    for problem in PROBLEMS:
        if problem.name == name:
            return answer(_body(problem))
    refuse(NOT_FOUND, "see /problems")


@blueprint.route(ADDRESS)
@blueprint.response(200, description="The linkset.", headers={"Link": {"schema": {"type": "string"}}})
@blueprint.doc(operationId="getCatalog", responses={200: {"content": {LINKSET: _OBJECT}}})
@offers(LINKSET)
def get_catalog() -> Response:
    """Get where the contract, the reference and the health of this service stand.

    A linkset (RFC 9264) by the profile of API catalogues (RFC 9727).
    """
    response = answer(catalog(request.url_root.rstrip("/")))
    response.content_type = f'{LINKSET}; profile="{PROFILE}"'
    response.headers["Link"] = f'<{ADDRESS}>; rel="api-catalog"'
    return response


def _body(problem: Problem) -> dict[str, Any]:
    return {"type": problem.type, "status": problem.status, "title": problem.title, "mend": problem.mend}


def _once(name: str, make: Callable[[], str]) -> str:
    """A text that stays the same as long as the application runs, made when it is first asked for."""
    made: dict[str, str] = current_app.extensions.setdefault("tacticapi-reference", {})
    if name not in made:
        made[name] = make()
    return made[name]


def _described() -> dict[str, Any]:
    return cast(Contract, current_app.extensions[EXTENSION]).described()
