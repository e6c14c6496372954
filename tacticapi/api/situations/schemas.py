"""The body of a request for advice: everything but the moment is optional, and null means unknown."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, post_load, validates_schema

from tacticapi.api.fields import Items, Real, Text, Whole, Word, part
from tacticapi.api.shapes import RulebookShape
from tacticapi.api.situations.observations import Observations
from tacticapi.api.situations.parts import (
    LONGEST_ID,
    OwnErrorsSchema,
    PointsPlayedSchema,
    PreviousSchema,
    Score,
    TriesSchema,
    own_errors,
    points_played,
    previous,
    score_messages,
)
from tacticapi.api.situations.profiles import Profile
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import MOST_TRIED, Situation
from tacticapi.domain.terms import Moment
from tacticapi.posted import FORMAT, SUM_EXPECTED, current_tactic, merged_tries

MOST_SUGGESTIONS = 10
LONGEST_MATCH_MIN = 720
MOST_TRIES = 200


class SituationSchema(RulebookShape):
    """Who plays, where, what was seen, the score and what was tried. Loads into a domain Situation."""

    moment = Word(Moment, required=True, says="When advice is asked for.")
    context = Profile("context", says="The day, the court and the event. Absent: unknown.")
    own = Profile("own", says="The player who is advised. Absent: unknown.")
    opponent = Profile("opponent", says="What is known of the opponent. Absent: unknown.")
    observations = Observations(says="What was seen, in any order. Absent: nothing yet.")
    score = Score(says="Pairs are [own, opponent]. Absent: not known, taken as the start of the match.")
    points_played = part(PointsPlayedSchema, says="Own points won out of points played. Absent: not counted.")
    own_errors = part(OwnErrorsSchema, says="Own unforced errors among the points lost. Absent: not counted.")
    tries = Items(
        fields.Nested(TriesSchema), MOST_TRIES, says="Tactics tried as meant. Absent: none. Tries of one tactic add up."
    )
    previous = part(PreviousSchema, says="The advice before this one, so that advice can hold steady. Absent: none.")
    minutes_left = Real(0, LONGEST_MATCH_MIN, says="Minutes of play left, where time is limited. Absent: not limited.")
    opponent_id = Text(
        LONGEST_ID,
        says="Id of a kept opponent of your club: what earlier matches taught is where beliefs begin. It takes a token "
        "with the scope advise, where the service takes tokens. Absent: beliefs begin as for anyone.",
    )
    limit = Whole(1, MOST_SUGGESTIONS, says="Most suggestions wanted. Absent: as many as the moment allows.")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def known_tactics(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse the names of tactics that the rulebook does not hold."""
        posted = original.get("tries") if isinstance(original, dict) else None
        wrong = {
            index: {"tactic": ["the id of a tactic, see /v1/tactics"]}
            for index, tried in enumerate(posted[:MOST_TRIES] if isinstance(posted, list) else ())
            if _names_no_tactic(tried, self.rulebook)
        }
        if wrong:
            raise ValidationError({"tries": wrong})

    @validates_schema
    def tries_of_a_match(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse more tries of one tactic than a match has points; the entry that goes beyond is named."""
        tried: Counter[str | None] = Counter()
        for index, entry in enumerate(data.get("tries") or ()):
            tactic = current_tactic(entry["tactic"], self.rulebook)
            tried[tactic] += entry["tried"]
            if tactic is not None and tried[tactic] > MOST_TRIED:
                raise ValidationError({"tries": {index: {"tried": [SUM_EXPECTED]}}})

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def possible_score(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse a score that no match of this format can reach; a faulty format is told elsewhere."""
        if not isinstance(original, dict) or original.get("score") is None:
            return
        context = original.get("context")
        found = score_messages(context.get(FORMAT) if isinstance(context, dict) else None, original["score"])
        if found:
            raise ValidationError({"score": found})

    @post_load
    def situation(self, data: dict[str, Any], **kwargs: Any) -> Situation:
        """The body as the domain knows it."""
        given = {name: value for name, value in data.items() if value is not None}
        readers = {"points_played": points_played, "own_errors": own_errors, "previous": previous}
        for name in readers.keys() & given.keys():
            given[name] = readers[name](given[name])
        given["moment"] = Moment(given["moment"])
        if "observations" in given:
            given["observations"] = tuple(given["observations"])
        if "tries" in given:
            given["tries"] = merged_tries(given["tries"], self.rulebook)
        return Situation(**given)


def _names_no_tactic(tried: Any, rulebook: Rulebook) -> bool:
    """Whether a well-formed name is unknown; what is no name is told elsewhere."""
    name = tried.get("tactic") if isinstance(tried, dict) else None
    return isinstance(name, str) and 1 <= len(name) <= LONGEST_ID and current_tactic(name, rulebook) is None
