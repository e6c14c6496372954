"""/match-page: one page on which a coach enters what is seen and reads advice, on a phone and with one thumb."""

from flask import Blueprint, Response, render_template, send_from_directory

from tacticapi.api.http.blueprint import HTML, offers
from tacticapi.api.http.deployment import deployment
from tacticapi.api.vocabulary import KindSchema
from tacticapi.web import FILES, MODULES, OFFLINE, POLICY, STATIC, TEMPLATES, page_data

blueprint = Blueprint("match_page", __name__, template_folder=str(TEMPLATES))


@blueprint.route("/match-page")
@offers(HTML)
def match_page() -> Response:
    """Answer with the page and the vocabulary that it asks by. It shows nothing of a club before the API does."""
    page = Response(
        render_template("match-page.html", data=page_data(deployment().adviser, KindSchema.written), modules=MODULES)
    )
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
