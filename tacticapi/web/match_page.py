"""/match-page: one page on which a coach enters what is seen and reads advice, on a phone and with one thumb."""

from pathlib import Path

from flask import Blueprint, Response, render_template, send_from_directory

from tacticapi.api.deployment import deployment
from tacticapi.api.offers import HTML, offers
from tacticapi.web.page_data import page_data

STATIC = Path(__file__).with_name("static")
OFFLINE = "offline.js"  # no part of the page: the browser runs it beside the page
MODULES = tuple(sorted({file.relative_to(STATIC).as_posix() for file in STATIC.rglob("*.js")} - {OFFLINE}))
FILES = ("text/javascript", "text/css", "image/svg+xml")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; worker-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

blueprint = Blueprint("match_page", __name__, template_folder="templates")


@blueprint.route("/match-page")
@offers(HTML)
def match_page() -> Response:
    """Answer with the page and the vocabulary that it asks by. It shows nothing of a club before the API does."""
    page = Response(render_template("match-page.html", data=page_data(deployment().adviser), modules=MODULES))
    page.headers["Content-Security-Policy"] = POLICY
    page.headers["Referrer-Policy"] = "no-referrer"
    return page


@blueprint.route("/match-page/<path:name>")
@offers(*FILES)
def match_page_file(name: str) -> Response:
    """Answer with a style, script or picture of the page; 404 for any other name.

    The browser asks each time whether it still holds the file, so a new version of the service shows at once.
    """
    file = send_from_directory(STATIC, name)
    if name == OFFLINE:
        file.headers["Service-Worker-Allowed"] = "/match-page"  # the page stands beside its files, not below them
        file.headers["Content-Security-Policy"] = POLICY  # binds what it fetches
    return file
