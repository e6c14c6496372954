"""Posted observations ▶ domain observations, each checked against its kind in the vocabulary."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from tacticapi.api.fields import Items, Real, Table, Text, Whole, Word, Yes
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation
from tacticapi.knowledge.vocabulary import HIGHEST_RATING, MOST_CHANCES, QUALIFIERS
from tacticapi.knowledge.weather import ENDS
from tacticapi.posted import MAX_TEXT, MAX_TEXTS, observation, observation_faults

MOST_OBSERVATIONS = 1_000
_UNSAID = "Absent: said in another way; it does not mean no."


class KindId(fields.String):
    """An id of the vocabulary that is posted as an observation."""


class ObservationSchema(Shape):
    """One thing seen: `what`, one way of saying it, and qualifiers. Which of them a kind takes: GET /v1/vocabulary."""

    what = KindId(required=True, metadata={"description": "Id of the vocabulary."})
    count = Whole(
        0, MOST_CHANCES, says=f"So many of the chances in `of`; for a question of quality, handled of tried. {_UNSAID}"
    )
    of = Whole(0, MOST_CHANCES, says=f"Number of chances, beside `count` and not below it. {_UNSAID}")
    counts = Table(Whole(0, MOST_CHANCES, required=True), 20, says=f"Chances by option of the kind. {_UNSAID}")
    rating = Whole(0, HIGHEST_RATING, says=f"0 none or very poor, 4 very good or very strong. {_UNSAID}")
    value = Text(MAX_TEXT, says=f"One of the kind's options; a plain text where it takes one. {_UNSAID}")
    amount = Real(-1e6, 1e6, says=f"A number in the kind's unit. {_UNSAID}")
    seen = Yes(says=f"Whether it was seen. {_UNSAID}")
    wing = Word(QUALIFIERS["wing"], says="The wing it was seen on. Absent: unknown.")
    court = Word(QUALIFIERS["court"], says="The court served into. Absent: unknown.")
    serve = Word(QUALIFIERS["serve"], says="On which serve. Absent: unknown.")
    end = Word(ENDS, says="The observer's own end at that time. Absent: unknown.")
    set = Whole(1, MOST_CHANCES, says="The set, counted from 1. Absent beside `game`: the set in progress.")
    game = Whole(1, MOST_CHANCES, says="The game of that set, counted from 1. Absent: seen as of now, does not age.")
    by = Text(MAX_TEXTS["by"], says="Who saw it, in the client's own words. Absent: not told.")
    note = Text(MAX_TEXTS["note"], says="A note; kept, never weighed. Absent: none.")
    ref = Text(MAX_TEXTS["ref"], says="The client's own id, echoed in `because` and `unused`. Absent: none.")


class Observations(Items):
    """A list of observations. Each is checked against its kind, so all its faults are told in one pass."""

    def __init__(self, *, says: str) -> None:
        super().__init__(fields.Nested(ObservationSchema), MOST_OBSERVATIONS, says=says)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        rulebook: Rulebook = self.root.rulebook  # type: ignore[union-attr]
        read: list[Observation] = []
        wrong: dict[int, Any] = {}
        for index, posted in enumerate(value):
            found = observation_faults(posted, rulebook)
            if found:
                wrong[index] = messages(found)
            else:
                read.append(observation(index, posted, rulebook.kinds[posted["what"]]))
        if wrong:
            raise ValidationError(wrong)
        return read
