"""Routes for the dossier: what is believed about an opponent across matches, as JSON or Markdown."""

from typing import Any

from flask import Response

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.debrief import with_wing
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import JSON, MARKDOWN, KeptBlueprint, answer, offers, template, wanted
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import listed
from tacticapi.api.http.problems import refuse
from tacticapi.club import players
from tacticapi.club.dossier import Dossier, MatchEvidence, dossier
from tacticapi.pictures.svg import percent

wire.shape_of(
    MatchEvidence,
    "DossierMatch",
    order="match_id started_at surface weight",
    started_at=wire.a_time("When the match started.", of="day"),
    surface=wire.a_text("The match's surface; absent if unknown.", absent=True, of="earlier.surface"),
    weight=wire.a_chance("The match's weight, lower if older or on another surface.", digits=3, of="earlier.weight"),
)
DossierSchema = wire.shape_of(
    Dossier,
    order="player_id rulebook label surface matches begin_with beliefs playing",
    rulebook=wire.a_part(RulebookRefSchema),
    notice=wire.texts("Notices for the reader."),
)
AGEING = (
    "A match's weight halves every {days:g} days, and is lower for another surface (model defaults). Even "
    "yesterday's match counts for less: part of it was that day's form. People change: check again in the warm-up."
)
FACTS = (
    "Playing facts only: nothing about health, conduct, body language or delays, and nothing from a match in progress."
)
BETTING = "Not for betting, and not to be passed on for betting."

blueprint = KeptBlueprint("dossier")
FORMS = (JSON, MARKDOWN)
SURFACE = "context.surface"


@blueprint.get("/v1/players/<id:player_id>/dossier", scope="read")
@blueprint.query(surface=wire.Text(40, says="The next match's surface; others count less. Default: all equal."))
@blueprint.response(200, DossierSchema, description="The dossier.")
@offers(*FORMS)
def get_dossier(query: dict[str, Any], player_id: str) -> Response:
    """Get what is believed about an opponent across matches.

    The dossier contains what worked, the beliefs and what changed them, and the ten newest finished matches, on which
    it is based. It comes as JSON or Markdown (Accept: text/markdown). A match in progress is left out and listed in
    `playing`. While only its safety lines may be read, the dossier contains only those and a notice.
    """
    if players.get(*here(), player_id).side != "opponent":
        refuse("not-found", "only an opponent has a dossier")
    rulebook = deployment().rulebook
    surface = listed(query, "surface", rulebook.kinds[SURFACE].options)
    told = dossier(*here(), player_id, surface=surface)
    notes = [AGEING.format(days=rulebook.defaults["dossier"]["half_life_days"]), FACTS, BETTING]
    notes = [told.withheld] if told.withheld else notes
    if wanted(*FORMS) == MARKDOWN:
        words = {"percent": percent, "with_wing": with_wing}
        response = Response(template("dossier.md").render(words, told=told, notes=notes), mimetype=MARKDOWN)
    else:
        response = answer(DossierSchema.written(told, rulebook=RulebookRefSchema.written(rulebook), notice=notes))
    response.vary.add("Accept")
    return response
