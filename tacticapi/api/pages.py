"""Routes for the pages that people use: front page, match page, guides and static files. They show no club data."""

from functools import cache
from typing import Any

import flask
from flask import Response, render_template, request, send_from_directory
from markdown_it import MarkdownIt
from markupsafe import Markup

from tacticapi.api.http.blueprint import HTML, offers
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import refuse
from tacticapi.api.rulebook import KindSchema
from tacticapi.club import demo
from tacticapi.web import FILES, GUIDES, MANIFEST, MODULES, POLICY, STATIC, TEMPLATES, WORKER, page_data

blueprint = flask.Blueprint("pages", __name__, template_folder=str(TEMPLATES))


@blueprint.route("/")
@offers(HTML)
def front_door() -> Response:
    """Serve an introduction and links to the other pages."""
    return _page("door.html", guides=_guides())


@blueprint.route("/match")
@offers(HTML)
def match() -> Response:
    """Serve the match page and its vocabulary."""
    return _match_page("Match page")


@blueprint.route("/demo")
@offers(HTML)
def play_demo() -> Response:
    """Serve the match page and the steps of the demo match that it plays."""
    return _match_page("Demo match", {"match": demo.MATCH_ID, "steps": demo.steps()})


@blueprint.route("/guide/<name>")
@offers(HTML)
def guide(name: str) -> Response:
    """Serve a guide; 404 for an unknown name."""
    if name not in GUIDES:
        refuse("not-found", f"guides: {', '.join(GUIDES)}")
    return _page("guide.html", title=_guides()[name], text=_guide(name))


@blueprint.route("/guide")
@offers(HTML)
def guides() -> Response:
    """Serve the list of guides."""
    return _page("guides.html", guides=_guides())


@blueprint.route(f"/{WORKER}", defaults={"name": WORKER})
@blueprint.route(f"/{MANIFEST}", defaults={"name": MANIFEST})
@blueprint.route("/static/<path:name>")
@offers(*FILES)
def static_file(name: str) -> Response:
    """Serve a style, script or picture for the pages; 404 for an unknown name.

    The browser revalidates the file each time, so a new version of the service shows at once. The service worker and
    the manifest are at the root, because they serve every page.
    """
    return _closed(send_from_directory(STATIC, name))


def _match_page(title: str, film: dict[str, Any] | None = None) -> Response:
    data = page_data(deployment().adviser, KindSchema.written)
    return _page("match-page.html", data=data, film=film, modules=MODULES, title=title)


def _page(template: str, **given: Any) -> Response:
    return _closed(Response(render_template(template, root=request.script_root, **given)))


def _closed(response: Response) -> Response:
    response.headers["Content-Security-Policy"] = POLICY
    return response


@cache
def _guide(name: str) -> Markup:
    return Markup(MarkdownIt("commonmark", {"html": False}).enable("table").render(GUIDES[name]))  # nosec B704


@cache
def _guides() -> dict[str, str]:
    return {name: text.partition("\n")[0].removeprefix("# ") for name, text in GUIDES.items()}
