"""Define the situation that a client posts to get advice. Only the moment is required; null means unknown."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, ClassVar

from marshmallow import ValidationError, fields, post_load, validates_schema

from tacticapi import posted as reading
from tacticapi.api.http import fields as wire
from tacticapi.api.http.fields import faults_of
from tacticapi.domain import situation as domain
from tacticapi.domain.rules import ObservationKind, Rulebook
from tacticapi.domain.situation import MAX_TRIED, Game, Moment, Observation, Situation
from tacticapi.posted import ENDS, FORMAT, MAX_CHANCES, MAX_TEXT, MAX_TEXTS, ON, SUM_EXPECTED, Posted
from tacticapi.rulebook.conditions import MAX_RATING, QUALIFIERS
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES, Format, ScoreError
from tacticapi.scoring.formats import Fault as ScoreFault
from tacticapi.scoring.reading import MAX_SCORE_COUNT, read_score

WHOLE = "_schema"


def messages(faults: Iterable[Fault | ScoreFault]) -> dict[Any, Any]:
    """Return the faults nested by their paths; faults in a whole object are under `_schema`."""
    nested: dict[Any, Any] = {}
    for fault in faults:
        place = nested
        for step in fault.path:
            place = place.setdefault(step, {})
        place.setdefault(WHOLE, []).append(fault.expected)
    return nested


class Profile(fields.Field[dict[str, Any]]):
    """An object whose keys are the vocabulary items of one subject; `read` converts it."""

    def __init__(self, subject: str, says: str, read: Callable[[Posted], dict[str, Any]] = reading.profile) -> None:
        super().__init__(allow_none=True, metadata={"description": says, "components": (subject.capitalize(),)})
        self.subject, self.read = subject, read
        self._kinds: Mapping[str, ObservationKind] | None = None

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise ValidationError("an object")
        if self._kinds is None:
            self._kinds = reading.kinds_of(self.root.rulebook, self.subject)  # type: ignore[union-attr]
        if found := reading.fact_faults(self.subject, value, self._kinds):
            raise ValidationError(messages(found))
        return self.read(value)


MAX_OBSERVATIONS = 1_000
_UNSAID = 'Omit if another form is used; omission does not mean "no".'


class KindId(fields.String):
    """A vocabulary id that is posted as an observation."""


class ObservationSchema(wire.Shape):
    """One observation: `what`, one form of value, and qualifiers. GET /v1/vocabulary lists each kind's forms."""

    what = KindId(required=True, metadata={"description": "Vocabulary id."})
    count = wire.Whole(
        0, MAX_CHANCES, says=f"On how many chances in `of` it was seen; for a quality, how many were handled. {_UNSAID}"
    )
    of = wire.Whole(0, MAX_CHANCES, says=f"Number of chances, at least `count`. {_UNSAID}")
    counts = wire.Table(wire.Whole(0, MAX_CHANCES, required=True), 20, says=f"Chances for each option. {_UNSAID}")
    rating = wire.Whole(0, MAX_RATING, says=f"From 0 (none or very poor) to 4 (very good or very strong). {_UNSAID}")
    value = wire.Text(MAX_TEXT, says=f"One of the kind's options, or free text if the kind takes it. {_UNSAID}")
    amount = wire.Real(-1e6, 1e6, says=f"A number in the kind's unit. {_UNSAID}")
    seen = wire.StrictBoolean(says=f"Whether it was seen. {_UNSAID}")
    wing = wire.Word(QUALIFIERS["wing"], says="The wing on which it was seen. Omit if unknown.")
    court = wire.Word(QUALIFIERS["court"], says="The court served into. Omit if unknown.")
    serve = wire.Word(QUALIFIERS["serve"], says="The serve on which it was seen. Omit if unknown.")
    end = wire.Word(ENDS, says="The observer's own end at that time. Omit if unknown.")
    set = wire.Whole(1, MAX_CHANCES, says="Set number, counting from 1. Default: with `game`, the set in progress.")
    game = wire.Whole(1, MAX_CHANCES, says="Number of the game in that set, from 1. Default: seen now, does not age.")
    by = wire.Text(MAX_TEXTS["by"], says="The observer, in the client's own words. Omit if unknown.")
    note = wire.Text(MAX_TEXTS["note"], says="A note, stored but never evaluated. Omit if none.")
    ref = wire.Text(MAX_TEXTS["ref"], says="The client's own id, repeated in `because` and `unused`. Omit if none.")


class Observations(wire.Items):
    """A list of observations. Each is checked against its kind, so all its faults are reported in one pass."""

    def __init__(self, *, says: str) -> None:
        super().__init__(fields.Nested(ObservationSchema), MAX_OBSERVATIONS, says=says)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        rulebook: Rulebook = self.root.rulebook  # type: ignore[union-attr]
        read: list[Observation] = []
        wrong: dict[int, Any] = {}
        for index, posted in enumerate(value):
            found = reading.observation_faults(posted, rulebook)
            if found:
                wrong[index] = messages(found)
            else:
                read.append(reading.observation(index, posted, rulebook.kinds[posted["what"]]))
        if wrong:
            raise ValidationError(wrong)
        return read


MAX_POINTS = 10_000
MAX_GAMES = 200
MAX_ID_LENGTH = 100
MAX_BELIEFS = 500


class PartOfWholeSchema(wire.Shape):
    """Two numbers; the first is at most the second."""

    part_name: ClassVar[str] = "won"
    whole_name: ClassVar[str] = "of"

    @validates_schema
    def part_within_whole(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a part larger than its whole."""
        if data[self.part_name] > data[self.whole_name]:
            raise ValidationError({self.part_name: [f"at most the {data[self.whole_name]:g} in {self.whole_name}"]})


class WonOfSchema(PartOfWholeSchema):
    """Points won out of points played."""

    won = wire.Whole(0, MAX_POINTS, required=True, says="Points won.")
    of = wire.Whole(0, MAX_POINTS, required=True, says="Points played.")


class MatchGameSchema(wire.Shape):
    """A game in the match."""

    set = wire.Whole(1, MAX_CHANCES, says="Set number, counting from 1. Default: the first.")
    game = wire.Whole(1, MAX_CHANCES, required=True, says="Number of the game in that set, from 1.")


def _of_game(data: Mapping[str, Any], counts: Any) -> Any:
    return (_game(data), counts) if "game" in data else counts


class _PointsSchema(wire.Shape):
    on_serve = wire.part(WonOfSchema, says="Points on your serve. Omit if not counted.")
    on_return = wire.part(WonOfSchema, says="Points on return. Omit if not counted.")

    @post_load
    def points(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return your points on serve and on return; points not counted are 0."""
        serve, back = (data.get(side, {"won": 0, "of": 0}) for side in ("on_serve", "on_return"))
        by_game = tuple(data.get("by_game", ()))
        return _of_game(data, domain.PointsPlayed(serve["won"], serve["of"], back["won"], back["of"], by_game))


class PointsOfGameSchema(_PointsSchema, MatchGameSchema):
    """Your points in one game, on your serve or on return."""


BY_GAME = "The same counts per game, so that a plan is judged by the points since it began. Default: all points count."


class PointsPlayedSchema(_PointsSchema):
    """Your points, on your serve and on return."""

    by_game = wire.Items(fields.Nested(PointsOfGameSchema), MAX_GAMES, says=BY_GAME)


class _ErrorsSchema(PartOfWholeSchema):
    part_name = "unforced"

    unforced = wire.Whole(0, MAX_POINTS, required=True, says="Unforced errors among the points lost.")
    of = wire.Whole(0, MAX_POINTS, required=True, says="Points lost.")

    @post_load
    def errors(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return your unforced errors among the points lost."""
        return _of_game(data, domain.OwnErrors(data["unforced"], data["of"], tuple(data.get("by_game", ()))))


class ErrorsOfGameSchema(_ErrorsSchema, MatchGameSchema):
    """Your unforced errors among the points lost in one game."""


class OwnErrorsSchema(_ErrorsSchema):
    """Your unforced errors among the points lost."""

    by_game = wire.Items(fields.Nested(ErrorsOfGameSchema), MAX_GAMES, says=BY_GAME)


PLAYED = "Points on which the tactic was carried out, excluding your double faults and easy misses."


class TriesSchema(PartOfWholeSchema):
    """A tactic played as planned."""

    whole_name = "tried"

    tactic = wire.Text(MAX_ID_LENGTH, required=True, says="Id of the tactic; a retired id counts as its replacement.")
    tried = wire.Whole(0, MAX_TRIED, required=True, says=PLAYED)
    won = wire.Whole(0, MAX_TRIED, required=True, says="How many of these points were won.")
    set = wire.Whole(1, MAX_CHANCES, says="Set number, counting from 1. Default: with `game`, the first.")
    game = wire.Whole(1, MAX_CHANCES, says="Game number, from 1. Omit if unknown: it counts as before any change.")
    on = wire.Word(ON, says="Whether on your serve or your return. Default: as the tactic specifies.")


class PlayingSchema(wire.Shape):
    """The tactic being played."""

    tactic = wire.Text(MAX_ID_LENGTH, required=True, says="Id of the tactic.")
    since = wire.part(MatchGameSchema, says="The first game in which it is played. Default: all its tries count.")


class PreviousSchema(wire.Shape):
    """The previous advice, as the client stored it."""

    advice_id = wire.Text(MAX_ID_LENGTH, says="Id of the advice. Omit if unknown.")
    first = wire.Text(MAX_ID_LENGTH, says="The first tactic in that advice. Omit if it had none.")
    beliefs = wire.Table(
        wire.Real(0, 1, required=True),
        MAX_BELIEFS,
        says="Probability by trait; write a trait for one wing as trait/wing. An omitted trait has not changed. "
        "Omit if there is nothing to compare with.",
    )

    @post_load
    def previous(self, data: dict[str, Any], **kwargs: Any) -> domain.Previous:
        """Return the previous advice."""
        return domain.Previous(**data)


def _pair(inner: Any, *, says: str | None = None) -> wire.Items:
    """Describe a pair with a value for each side; a pair inside a list cannot be null."""
    return wire.Items(inner, 2, least=2, required=says is None, says=says)


class ScoreSchema(wire.Shape):
    """The score. Anything absent or null is zero; an absent server is unknown."""

    sets = wire.Items(
        _pair(wire.Whole(0, MAX_SCORE_COUNT, required=True)), 5, says="Games in the finished sets. Omit if none."
    )
    games = _pair(wire.Whole(0, MAX_SCORE_COUNT, required=True), says="Games in the set in progress. Default: [0, 0].")
    points = _pair(
        wire.Text(3, required=True, pattern="^([0-9]+|AD)$"),
        says='"0" "15" "30" "40" "AD", in a tie-break, plain numbers as strings. Default: ["0", "0"].',
    )
    server = wire.Word(SIDES, says="Who serves the next point. Omit if unknown.")
    serve = wire.Word(("first", "second"), says="Whether a first or second serve comes next. Omit if irrelevant.")


class Score(fields.Nested):
    """A posted score. The situation checks that a match in its format can reach it."""

    def __init__(self, *, says: str) -> None:
        super().__init__(ScoreSchema, allow_none=True, metadata={"description": says})

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:
        return value


def score_messages(posted_format: Any, posted_score: Any, *, served: bool = False) -> dict[Any, Any]:
    """Return faults for a score that a match in this format cannot reach, or for a missing server if `served`.

    An invalid format yields none, because it is reported elsewhere.
    """
    try:
        fmt = Format.from_wire(posted_format)
    except ScoreError:
        return {}
    try:
        state = read_score(fmt, posted_score)
    except ScoreError as refused:
        return messages(refused.faults)
    if served and posted_score is not None and state.winner is None and state.server is None:
        return {"server": [f"{' or '.join(SIDES)}: the importance of a point depends on who serves"]}
    return {}


def _game(data: Mapping[str, Any]) -> Game:
    return data.get("set", 1), data["game"]


MAX_SUGGESTIONS = 10
MAX_MATCH_MINUTES = 720
MAX_TRIES = 200


class SituationSchema(wire.RulebookShape):
    """The players, the conditions, the observations, the score and the tries. Loads into a domain Situation."""

    moment = wire.Word(Moment, required=True, says="The moment for which advice is requested.")
    context = Profile("context", "The day, the court and the event. Omit if unknown.")
    own = Profile("own", "The player to be advised. Omit if unknown.")
    opponent = Profile("opponent", "What is known about the opponent. Omit if unknown.")
    observations = Observations(says="Observations, in any order. Default: none.")
    score = Score(says="Pairs are [own, opponent]. Omit if unknown; the start of the match is then assumed.")
    points_played = wire.part(PointsPlayedSchema, says="Your points won out of points played. Omit if not counted.")
    own_errors = wire.part(OwnErrorsSchema, says="Your unforced errors among the points lost. Omit if not counted.")
    tries = wire.Items(fields.Nested(TriesSchema), MAX_TRIES, says="Tactics played as planned. Omit if none.")
    plan = wire.part(PlayingSchema, says="The tactic being played now. Default: the tactic tried last.")
    previous = wire.part(PreviousSchema, says="The previous advice, to keep advice steady. Omit if none.")
    minutes_left = wire.Real(0, MAX_MATCH_MINUTES, says="Minutes of play left, if time is limited. Default: unlimited.")
    opponent_id = wire.Id(
        "Id of an opponent stored for your club; beliefs then start from earlier matches. If the service uses tokens, "
        "this requires one with the scope advise. Omit to start with the beliefs for any opponent."
    )
    limit = wire.Whole(1, MAX_SUGGESTIONS, says="Maximum number of suggestions. Default: as many as the moment allows.")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def known_tactics(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse tactic ids that are not in the rulebook."""
        posted = original if isinstance(original, dict) else {}
        tries, unknown = posted.get("tries"), {"tactic": ["the id of a tactic, see /v1/tactics"]}
        wrong = {
            index: unknown
            for index, tried in enumerate(tries[:MAX_TRIES] if isinstance(tries, list) else ())
            if _names_no_tactic(tried, self.rulebook)
        }
        found: dict[str, Any] = {"tries": wrong} if wrong else {}
        if _names_no_tactic(posted.get("plan"), self.rulebook):
            found["plan"] = unknown
        if found:
            raise ValidationError(found)

    @validates_schema
    def tries_of_a_match(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse more tries of one tactic than a match can have points; the fault names the entry."""
        tried: Counter[str | None] = Counter()
        rulebook = self.rulebook
        for index, entry in enumerate(data.get("tries", ())):
            tactic = reading.current_tactic(entry["tactic"], rulebook)
            tried[tactic] += entry["tried"]
            if tactic is not None and tried[tactic] > MAX_TRIED:
                raise ValidationError({"tries": {index: {"tried": [SUM_EXPECTED]}}})

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def possible_score(self, data: Mapping[str, Any], original: Any, **kwargs: Any) -> None:
        """Refuse a score that no match in this format can reach; an invalid format is reported elsewhere."""
        if not isinstance(original, dict) or original.get("score") is None:
            return
        context = original.get("context")
        found = score_messages(context.get(FORMAT) if isinstance(context, dict) else None, original["score"])
        if found:
            raise ValidationError({"score": found})

    @post_load
    def situation(self, data: dict[str, Any], **kwargs: Any) -> Situation:
        """Return the body as a domain Situation."""
        data["moment"] = Moment(data["moment"])
        if "observations" in data:
            data["observations"] = tuple(data["observations"])
        if "plan" in data:
            data["plan"] = chosen(data["plan"], self.rulebook)
        if "tries" in data:
            data["tries"] = reading.merged_tries(data["tries"], self.rulebook)
        return Situation(**data)


def chosen(data: Mapping[str, Any], rulebook: Rulebook) -> domain.Chosen | None:
    """Return the plan; a retired id counts as its replacement."""
    tactic, since = reading.current_tactic(data["tactic"], rulebook), data.get("since")
    return domain.Chosen(tactic, _game(since) if since else None) if tactic else None


def _names_no_tactic(tried: Any, rulebook: Rulebook) -> bool:
    """Return whether a well-formed name is unknown; malformed names are reported elsewhere."""
    name = tried.get("tactic") if isinstance(tried, dict) else None
    return isinstance(name, str) and 1 <= len(name) <= MAX_ID_LENGTH and name not in rulebook.tactics


def situation_body(kept: Mapping[str, Any]) -> dict[str, Any]:
    """Return a stored situation in a form that can be posted again."""
    observations = [wire.told({**seen, "index": None, "way": None}) for seen in kept["observations"]]
    made = {
        **{name: kept[name] for name in SituationSchema._declared_fields if name in kept},
        "observations": observations,
        "points_played": _counted(kept["points_played"], _points_body),
        "own_errors": _counted(kept["own_errors"], lambda one: {"unforced": one["unforced"], "of": one["of"]}),
        "tries": [wire.told(one) for one in kept["tries"]],
        "plan": kept["plan"] and wire.told({**kept["plan"], "since": _game_body(kept["plan"]["since"])}),
        "previous": kept["previous"] and wire.told(kept["previous"]),
    }
    return wire.told({name: value for name, value in made.items() if value not in ([], {})})


def _counted(kept: Mapping[str, Any] | None, body: Callable[[Mapping[str, Any]], dict[str, Any]]) -> Any:
    if kept is None:
        return None
    by_game = [{**(_game_body(game) or {}), **body(one)} for game, one in kept["by_game"]]
    return {**body(kept), **({"by_game": by_game} if by_game else {})}


def _points_body(kept: Mapping[str, Any]) -> dict[str, Any]:
    return {f"on_{side}": {"won": kept[f"{side}_won"], "of": kept[f"{side}_of"]} for side in ("serve", "return")}


def _game_body(game: Sequence[int] | None) -> dict[str, int] | None:
    return {"set": game[0], "game": game[1]} if game else None


NO_CLUB = "no opponent_id: only a running service can look up a club's players"


class SituationError(ValueError):
    """An invalid situation. `faults` lists all faults, with paths into the body."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


def read_situation(body: Any, rulebook: Rulebook) -> Situation:
    """Read a parsed JSON body without opponent_id. Raises SituationError with every fault."""
    if isinstance(body, dict) and body.get("opponent_id") is not None:
        raise SituationError([Fault(("opponent_id",), body["opponent_id"], NO_CLUB)])
    try:
        situation: Situation = SituationSchema(rulebook=rulebook).load(body)
    except ValidationError as error:
        raise SituationError(list(faults_of(error.messages, body))) from None
    return situation


def situation_of_json(body: bytes, rulebook: Rulebook) -> Situation:
    """Read a situation from JSON text. Raises StrictJsonError or SituationError."""
    return read_situation(reading.strict_json(body), rulebook)
