"""The shape of a dossier."""

from marshmallow import fields

from tacticapi.api.fields import Text
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import RulebookRefSchema, a_chance, a_list, a_number, a_text, a_wing


class DossierQuery(Shape):
    """For which match the dossier is wanted."""

    surface = Text(40, says="Surface of the next match: what was seen on another counts less. Absent: all count alike.")


class DossierMatchSchema(Shape):
    """A match that it rests on."""

    match_id = fields.UUID(required=True, metadata={"description": "Id of the match."})
    started_at = fields.AwareDateTime(required=True, metadata={"description": "When it started."})
    surface = a_text("Its surface; null where it is not known.", null=True)
    weight = a_chance("What its evidence still counts.")
    observations = fields.Integer(required=True, metadata={"description": "Observations that count."})


class DossierBeliefSchema(Shape):
    """A belief over all matches."""

    trait = a_text("Id of the trait.")
    wing = a_wing()
    title = a_text("Title of the trait.")
    prior = a_chance("How likely it is before anything is seen.")
    probability = a_chance("How likely it is now.")
    chances = a_number("How many chances were seen, aged.")
    because = a_list(fields.String(), "What moved it in counts, with the day of the match, newest first.")


class DossierSchema(Shape):
    """What is believed of one opponent."""

    player_id = fields.UUID(required=True, metadata={"description": "Id of the opponent."})
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    label = a_text("Label of the opponent.")
    surface = a_text("The surface that was asked for; null for any.", null=True)
    matches = a_list(DossierMatchSchema, "Ended matches, newest first.")
    beliefs = a_list(DossierBeliefSchema, "What anything moved, the furthest from its prior first.")
    playing = a_list(fields.UUID(), "Matches against this opponent that go on; no part of it.")
    notice = a_list(fields.String(), "What the reader must be told.")
