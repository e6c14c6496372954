"""One blueprint a noun, with the strict parser, and answers that stand as long as the rulebook stands."""

from typing import Any

import flask_smorest
from flask import Response, current_app, request

from tacticapi import __version__
from tacticapi.api.deployment import deployment
from tacticapi.api.parsing import StrictParser


class Noun(flask_smorest.Blueprint):
    """The routes of one noun."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(self, name: str, description: str, *, of_the_rulebook: bool = False) -> None:
        """With `of_the_rulebook`, answers to GET carry the rulebook's ETag and may be revalidated by it."""
        super().__init__(name, f"tacticapi.api.{name}", description=description)
        if of_the_rulebook:
            self.after_request(stamped)


def answer(body: Any) -> Response:
    """A JSON answer, its keys in the order in which they were made."""
    return current_app.json.response(body)


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
