"""One blueprint a noun, with the strict parser, and answers that stand as long as the rulebook stands."""

from http import HTTPStatus
from typing import Any

import flask_smorest
from flask import Response, jsonify, request

from tacticapi import __version__
from tacticapi.api.deployment import deployment
from tacticapi.api.parsing import StrictParser


class Noun(flask_smorest.Blueprint):
    """The routes of one noun."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(self, name: str, description: str, *, of_the_rulebook: bool = False) -> None:
        """With `of_the_rulebook`, answers to GET carry the rulebook's ETag and may be revalidated by it."""
        super().__init__(name, f"tacticapi.api.{name}", description=description)
        self._of_the_rulebook = of_the_rulebook
        self._prepare_doc_cbks.append(self._prepare_problems_doc)
        if of_the_rulebook:
            self.after_request(stamped)

    def _prepare_problems_doc(self, doc: dict[str, Any], doc_info: Any, **kwargs: Any) -> dict[str, Any]:
        """Say which problems an operation answers with, and how it is revalidated."""
        statuses = [400, 413, 415] if "requestBody" in doc else []
        if self._of_the_rulebook:
            statuses.append(304)
            doc.setdefault("parameters", []).append("IF_NONE_MATCH")
            doc["responses"][200].setdefault("headers", {})["ETag"] = "ETAG"
        for status in statuses:
            doc["responses"][status] = HTTPStatus(status).name
        return doc


def answer(body: Any) -> Response:
    """A JSON answer, its keys in the order in which they were made."""
    return jsonify(body)


def stamped(response: Response) -> Response:
    """The answer with the ETag of the rulebook; 304 without a body where the client holds it already.

    An answer about the rulebook changes with its address, the rules and the code that writes it, and nothing else.
    """
    if response.status_code != 200:
        return response
    response.set_etag(f"{deployment().rulebook.digest.removeprefix('sha256:')[:32]}-{__version__}")
    response.cache_control.no_cache = True
    response.make_conditional(request)
    return response
