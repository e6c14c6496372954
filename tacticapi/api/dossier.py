"""What is believed of an opponent across matches, as JSON and as Markdown."""

from typing import Any

from flask import Response

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.debrief import with_wing
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import JSON, MARKDOWN, KeptBlueprint, answer, offers, template, wanted
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import listed
from tacticapi.api.http.problems import NOT_FOUND, refuse
from tacticapi.club import players
from tacticapi.club.dossier import Dossier, MatchEvidence, dossier
from tacticapi.domain.rules import Rulebook
from tacticapi.pictures.svg import percent

wire.shape_of(
    MatchEvidence,
    "DossierMatch",
    order="match_id started_at surface weight",
    started_at=wire.a_time("When it started.", of="day"),
    surface=wire.a_text("Its surface; absent if it is not known.", absent=True),
    weight=wire.a_chance("Its weight: less with age, less on another surface.", digits=3),
)
DossierSchema = wire.shape_of(
    Dossier,
    order="player_id rulebook label surface matches begin_with beliefs playing",
    rulebook=wire.a_part(RulebookRefSchema),
    notice=wire.texts("Notices for the reader."),
)
AGEING = (
    "A match counts half after every {days:g} days, and less from another surface (model defaults). Even a match of "
    "yesterday counts less than today: some of what it showed was the day. People change: look again in the warm-up."
)
FACTS = (
    "Playing facts only: nothing about health, conduct, body language or delays, and nothing from a match in progress."
)
BETTING = "Not for betting, and not to be passed on for it."


def dossier_markdown(told: Dossier, rulebook: Rulebook) -> str:
    """Return the dossier as a document."""
    words = {"percent": percent, "with_wing": with_wing}
    return template("dossier.md").render(words, told=told, notes=_notes(told, rulebook))


def _notes(told: Dossier, rulebook: Rulebook) -> list[str]:
    if told.withheld:
        return [told.withheld]
    return [AGEING.format(days=rulebook.defaults["dossier"]["half_life_days"]), FACTS, BETTING]


blueprint = KeptBlueprint("dossier")
FORMS = (JSON, MARKDOWN)
SURFACE = "context.surface"


@blueprint.route("/v1/players/<id:player_id>/dossier")
@blueprint.needs("read")
@blueprint.query(surface=wire.Text(40, says="Surface of the next match; others count less. Default: all count alike."))
@blueprint.response(200, DossierSchema, description="The dossier.")
@offers(*FORMS)
def get_dossier(query: dict[str, Any], player_id: str) -> Response:
    """Get what is believed of an opponent across matches.

    What worked against them, beliefs with what moved them, and the ten newest ended matches that both rest on, with
    dates and surfaces. As JSON, or as Markdown (Accept: text/markdown). A match that goes on is no part of it, and is
    named in `playing`. While only safety may be read of that match, the dossier holds that and a notice alone.
    """
    if players.get(*here(), player_id).side != "opponent":
        refuse(NOT_FOUND, "only an opponent has a dossier")
    surface = listed(query, "surface", deployment().rulebook.kinds[SURFACE].options)
    told = dossier(*here(), player_id, surface=surface)
    if wanted(*FORMS) == MARKDOWN:
        response = Response(dossier_markdown(told, deployment().rulebook), mimetype=MARKDOWN)
    else:
        rulebook = deployment().rulebook
        body = DossierSchema.written(told, rulebook=RulebookRefSchema.written(rulebook), notice=_notes(told, rulebook))
        response = answer(body)
    response.vary.add("Accept")
    return response
