"""What is believed of an opponent across matches, as JSON and as Markdown."""

from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.api.debrief import BeginWithSchema, with_wing
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import club_id
from tacticapi.api.http.blueprint import JSON, MARKDOWN, KeptBlueprint, answer, offers, template, wanted
from tacticapi.api.http.deployment import deployment, kept_services
from tacticapi.api.http.paging import listed
from tacticapi.api.http.problems import NOT_FOUND, refuse
from tacticapi.api.suggestions import RulebookRefSchema
from tacticapi.club import players
from tacticapi.club.dossier import Dossier, dossier
from tacticapi.domain.rules import Rulebook
from tacticapi.pictures.svg import percent

DIGITS = 3


class DossierQuery(wire.Shape):
    """For which match the dossier is wanted."""

    surface = wire.Text(
        40, says="Surface of the next match: what was seen on another counts less. Default: all count alike."
    )


class DossierMatchSchema(wire.Answer):
    """A match that it rests on."""

    match_id = wire.an_id("Id of the match.")
    started_at = wire.a_time("When it started.", of="day")
    surface = wire.a_text("Its surface; absent if it is not known.", absent=True)
    weight = wire.a_chance("Its weight: less with age, less on another surface.", digits=DIGITS)
    observations = wire.a_count("Its observations of how the opponent played.")


class DossierBeliefSchema(wire.Answer):
    """A belief over all matches."""

    trait = wire.a_text("Id of the trait.")
    wing = wire.a_wing()
    title = wire.a_text("Title of the trait.")
    prior = wire.a_chance("How likely it is before anything is seen.", digits=DIGITS)
    probability = wire.a_chance("How likely it is now.", digits=DIGITS)
    chances = wire.a_number("How many chances were seen, all matches together.", digits=DIGITS)
    because = wire.texts("What moved it, in counts, with the day of the match; the strongest first.")


class DossierSchema(wire.Answer):
    """What is believed of one opponent."""

    player_id = wire.an_id("Id of the opponent.")
    rulebook = wire.a_part(RulebookRefSchema)
    label = wire.a_text("Label of the opponent.")
    surface = wire.a_text("The requested surface; absent for any.", absent=True)
    matches = wire.a_list(DossierMatchSchema, "Ended matches, newest first, ten at most.")
    begin_with = wire.a_list(
        BeginWithSchema, "What was tried in these matches and did better than going without it, the best first."
    )
    beliefs = wire.a_list(DossierBeliefSchema, "What anything moved, the furthest from its prior first.")
    playing = wire.a_list(fields.UUID(), "Matches in progress against this opponent, which are left out.")
    notice = wire.texts("Notices for the reader.")


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
@blueprint.arguments(DossierQuery, location="query")
@blueprint.response(200, DossierSchema, description="The dossier.")
@offers(*FORMS)
def get_dossier(query: dict[str, Any], player_id: str) -> Response:
    """Get what is believed of an opponent across matches.

    What worked against them, beliefs with what moved them, and the ten newest ended matches that both rest on, with
    dates and surfaces. As JSON, or as Markdown (Accept: text/markdown). A match that goes on is no part of it, and is
    named in `playing`. While only safety may be read of that match, the dossier holds that and a notice alone.
    """
    if players.get(kept_services(), club_id(), player_id).side != "opponent":
        refuse(NOT_FOUND, "only an opponent has a dossier")
    surface = listed(query, "surface", deployment().rulebook.kinds[SURFACE].options)
    told = dossier(kept_services(), club_id(), player_id, surface=surface)
    if wanted(*FORMS) == MARKDOWN:
        response = Response(dossier_markdown(told, deployment().rulebook), mimetype=MARKDOWN)
    else:
        rulebook = deployment().rulebook
        body = DossierSchema.written(told, rulebook=RulebookRefSchema.written(rulebook), notice=_notes(told, rulebook))
        response = answer(body)
    response.vary.add("Accept")
    return response
