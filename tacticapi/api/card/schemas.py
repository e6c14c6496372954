"""For which moment a card is wanted."""

from tacticapi.api.choice import a_choice
from tacticapi.api.shapes import Shape
from tacticapi.domain.terms import Moment


class CardQuery(Shape):
    """For which moment the card is wanted."""

    moment = a_choice(
        Moment, "When the plan is made; permissions depend on it.", load_default=Moment.BEFORE_MATCH.value
    )
