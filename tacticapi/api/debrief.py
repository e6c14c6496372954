"""What a finished match leaves to learn, as JSON, as Markdown and as a page to print."""

from flask import Response
from markupsafe import Markup

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.http import blueprint as routes
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import NOT_ENDED, refuse
from tacticapi.club import debrief as kept
from tacticapi.club import matches
from tacticapi.domain.situation import Game
from tacticapi.pictures.charts import BeliefBar, CurvePoint, KeyPoint, belief_bars, win_curve
from tacticapi.pictures.svg import percent


def drawn_points(told: tuple[kept.StoryPoint, ...], important: tuple[kept.StoryPoint, ...], *, listed: bool) -> str:
    """Draw the win chance after each point, the important ones marked. Raises ValueError without any point."""
    points = [CurvePoint(point.set, point.chance, point.winner is not None) for point in told]
    keys = [KeyPoint(point.number, point_words(point)) for point in important]
    return win_curve(told[0].chance_before if told else 0.5, points, keys, "story", listed=listed)


def drawn_beliefs(moves: tuple[kept.BeliefMove, ...], name: str, title: str) -> str:
    """Draw beliefs as bars with what was seen. Raises ValueError without any."""
    bars = [BeliefBar(with_wing(one.title, one.wing), one.start, one.end, "; ".join(one.because)) for one in moves]
    return belief_bars(bars, name, title)


DebriefSchema = wire.shape_of(
    kept.Debrief,
    order="match_id rulebook own opponent started_at ended_at score winner start",
    rulebook=wire.a_part(RulebookRefSchema),
    start=wire.a_text("The chance to win before a point was played, in words; it is the prior of the level gap."),
    notice=wire.texts("Notices for the reader."),
)
NOTES = (
    "A win chance is the one of that time: it begins at a prior of this service (model defaults), and every point "
    "played moves it. Win chances tell how the score went, predict nothing, and are not for betting.",
    "An interval holds the true share in about 8 of 10 such cases; few tries leave it wide.",
    "Health items served the match while it was played. They are not kept and are not part of this debrief.",
)
NOBODY = "a player who was erased"
UNTRIED = "not tried"
PLAYED, CHANGED = "What was played when", "What your opponent changed, and after what"


def heading(told: kept.Debrief) -> str:
    """Return who met whom, and when."""
    return f"{told.own or NOBODY} and {told.opponent or NOBODY}, {told.started_at:%Y-%m-%d}"


def result(told: kept.Debrief) -> str:
    """Return the last score, and who has won by it."""
    if told.score is None:
        return "No score was kept."
    sets = " ".join(f"{own}-{opponent}" for own, opponent in told.score["sets"])
    if told.winner:
        return f"{'Won' if told.winner == 'own' else 'Lost'} {sets}."
    games = "-".join(map(str, told.score.get("games") or (0, 0)))
    return f"Not decided; the last score is {f'{sets}, then ' if sets else ''}{games} in games."


def point_words(point: kept.StoryPoint) -> str:
    """Return the score before a point, who won it, and what it was worth in the match."""
    calls = "-".join(map(str, point.score.get("points") or ("0", "0")))
    server = {"own": ", own serve", "opponent": ", opponent's serve", None: ""}[point.server]
    outcome = "won" if point.winner == "own" else "lost"
    worth = f"worth {percent(point.importance)} of the match"
    return f"set {point.set}, game {point.game}, at {calls}{server}: {outcome}, {worth}"


def start_words(told: kept.Debrief) -> str:
    """Return the chance before the first point, and that it rests on the posted level alone."""
    if not told.story:
        return ""
    posted = f'"{told.level_gap}" as posted' if told.level_gap else "level, since none was posted"
    return (
        f"The chance to win began at {percent(told.story[0].chance_before)}. That is the prior: what was expected "
        f"before a point was played, from the level gap alone (opponent {posted})."
    )


def played_words(one: kept.Played) -> str:
    """Return when a tactic was played, the verdict on it, and its reason in counts."""
    times = [_game(game) for game in dict.fromkeys((one.since, one.until)) if game]
    said = f"{one.verdict}: {one.why}" if one.verdict else UNTRIED
    return f"{' to '.join(times) or 'games not noted'}; {said}"


def change_words(one: kept.TheirChange) -> str:
    """Return when the opponent changed, at what score and after what, and what changed."""
    at = f"at {one.at}" if one.at else ""
    game = _game(one.since) if one.since else "game not noted"
    return f"{', '.join(filter(None, (game, at, one.after)))}: {one.what}"


def _game(game: Game) -> str:
    return f"set {game[0]}, game {game[1]}"


def with_wing(title: str, wing: str | None) -> str:
    """Return a title, with the wing if it does not name it."""
    return f"{title} ({wing})" if wing and wing not in title.lower() else title


def share_words(tries: kept.TriedShare) -> str:
    """Points won of tries, with the interval."""
    if tries.low is None or tries.high is None:
        return UNTRIED
    return f"{tries.won} of {tries.of} won ({percent(tries.low)} to {percent(tries.high)})"


def suggested_words(line: kept.TacticLine) -> str:
    """Return how often it was suggested, and what became of that."""
    parts = [f"suggested {_times(line.suggested)}" if line.suggested else "not suggested"]
    parts += [f"first {_times(line.first)}"] if line.first else []
    parts += [f"used {_times(line.used)}"] if line.used else []
    parts += [f"not used {_times(line.not_used)}"] if line.not_used else []
    return ", ".join(parts)


def verdict_words(line: kept.TacticLine) -> str:
    """Return what the tries say compared to going without it; nothing if it was not tried."""
    if line.worse is None:
        return ""
    chance = f"does worse than going without it with a chance of {percent(line.worse)}"
    return chance if line.enough else f"{chance}, but these are too few tries to tell"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


SURPRISES = "What moved most: believed after the match, and before it"


def debrief_text(told: kept.Debrief, form: str) -> str:
    """Return the debrief as a page or as Markdown. Everything but our own pictures is escaped."""
    story = drawn_points(told.story, told.important, listed=False) if told.story else None
    surprises = drawn_beliefs(told.surprises, "surprises", SURPRISES) if told.surprises else None
    words = (
        heading, result, start_words, point_words, played_words, change_words, with_wing, share_words,
        suggested_words, verdict_words, percent,
    )  # fmt: skip
    return routes.template("debrief.html" if form == routes.HTML else "debrief.md").render(
        {word.__name__: word for word in words},
        told=told,
        notes=NOTES,
        played=PLAYED,
        changed=CHANGED,
        story=Markup(story) if story else None,  # pictures escape what they are given  # nosec B704
        surprises=Markup(surprises) if surprises else None,  # the same  # nosec B704
    )


blueprint = routes.KeptBlueprint("debrief")
FORMS = (routes.JSON, routes.MARKDOWN, routes.HTML)


@blueprint.route("/v1/matches/<id:match_id>/debrief")
@blueprint.needs("read", conflict=True)
@blueprint.response(200, DebriefSchema, description="The debrief.")
@routes.offers(*FORMS)
def get_debrief(match_id: str) -> Response:
    """Get the debrief of a match that has ended.

    The score's story, what was played when, what the opponent changed and after what, what was suggested, tried and won
    with intervals, beliefs at the start and at the end, what surprised, what to begin with next time. As JSON, as
    Markdown (Accept: text/markdown), or as a page to print (Accept: text/html). While the match goes on it is refused,
    since its event may not permit analysis then.
    """
    if matches.get(*here(), match_id).status != "ended":
        refuse(NOT_ENDED, "end the match first")
    told, form = kept.debrief(*here(), match_id), routes.wanted(*FORMS)
    if form == routes.MARKDOWN:
        response = Response(debrief_text(told, form), mimetype=routes.MARKDOWN)
    elif form == routes.HTML:
        response = routes.html_answer(debrief_text(told, form))
    else:
        rules = RulebookRefSchema.written(deployment().rulebook)
        body = DebriefSchema.written(told, rulebook=rules, start=start_words(told), notice=list(NOTES))
        response = routes.answer(body)
    response.vary.add("Accept")
    return response
