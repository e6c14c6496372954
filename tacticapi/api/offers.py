"""Which media types an address answers in, and which of them a request wants (RFC 9110, section 12)."""

from collections.abc import Callable
from typing import Any, TypeVar

from flask import current_app, request
from werkzeug.datastructures import MIMEAccept

from tacticapi.api.problems import MEDIA_TYPE

JSON, MARKDOWN, HTML, CSV, JSON_LINES, TEXT = (
    "application/json", "text/markdown", "text/html", "text/csv", "application/jsonl", "text/plain",
)  # fmt: skip
USUAL = (JSON, MEDIA_TYPE)
_OFFERED = "offered_media_types"
View = TypeVar("View", bound=Callable[..., Any])


def offers(*media_types: str) -> Callable[[View], View]:
    """Let a view answer in these media types, the first where a request does not say. Stands right above the view."""

    def offering(view: View) -> View:
        setattr(view, _OFFERED, media_types)
        return view

    return offering


def offered_here() -> tuple[str, ...]:
    """The media types of the address that this request asks, problems included."""
    view = current_app.view_functions.get(request.endpoint or "")
    own: tuple[str, ...] = getattr(view, _OFFERED, ())
    return (*own, MEDIA_TYPE) if own else USUAL


def wanted(*media_types: str) -> str:
    """The media type to answer in, of those that the view offers."""
    return accepted().best_match(media_types) or media_types[0]


def accepted() -> MIMEAccept:
    """What the request accepts, each type without parameters: texts have one encoding, whatever a client names."""
    return MIMEAccept([(sent.partition(";")[0].strip(), weight) for sent, weight in request.accept_mimetypes])
