"""Routes for the debrief of a finished match, as JSON, Markdown or a printable page."""

from flask import Response
from markupsafe import Markup

from tacticapi.api.advice import RulebookRefSchema
from tacticapi.api.http import blueprint as routes
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.problems import refuse
from tacticapi.club import debrief as kept
from tacticapi.club import matches
from tacticapi.domain.situation import Game
from tacticapi.pictures.charts import BeliefBar, CurvePoint, KeyPoint, belief_bars, win_curve
from tacticapi.pictures.svg import percent


def drawn_points(told: tuple[kept.StoryPoint, ...], important: tuple[kept.StoryPoint, ...], *, listed: bool) -> str:
    """Draw the win chance after each point and mark the important points. Raises ValueError if there are no points."""
    points = [CurvePoint(point.set, point.chance, point.winner is not None) for point in told]
    keys = [KeyPoint(point.number, point_words(point)) for point in important]
    return win_curve(told[0].chance_before if told else 0.5, points, keys, "story", listed=listed)


def drawn_beliefs(moves: tuple[kept.BeliefMove, ...], name: str, title: str) -> str:
    """Draw beliefs as bars with their observations. Raises ValueError if there are no beliefs."""
    bars = [BeliefBar(with_wing(one.title, one.wing), one.start, one.end, "; ".join(one.because)) for one in moves]
    return belief_bars(bars, name, title)


DebriefSchema = wire.shape_of(
    kept.Debrief,
    order="match_id rulebook own opponent started_at ended_at score winner start",
    rulebook=wire.a_part(RulebookRefSchema),
    start=wire.a_text("The chance of winning before the first point, in words: the prior from the level gap."),
    notice=wire.texts("Notices for the reader."),
)
NOTES = (
    "Each win chance is the one at that point: it starts from this service's prior (model defaults), and every point "
    "played moves it. Win chances describe how the score developed. They predict nothing and are not for betting.",
    "An interval contains the true share in about 8 of 10 such cases; with few tries it is wide.",
    "Health items are used only during a match. They are not stored afterwards and are not part of this debrief.",
)
NOBODY = "a player who was erased"
UNTRIED = "not tried"
PLAYED, CHANGED = "What was played, and when", "What your opponent changed, and when"


def heading(told: kept.Debrief) -> str:
    """Return the players and the date."""
    return f"{told.own or NOBODY} and {told.opponent or NOBODY}, {told.started_at:%Y-%m-%d}"


def result(told: kept.Debrief) -> str:
    """Return the final score, and who won."""
    if told.score is None:
        return "No score was kept."
    sets = " ".join(f"{own}-{opponent}" for own, opponent in told.score["sets"])
    if told.winner:
        return f"{'Won' if told.winner == 'own' else 'Lost'} {sets}."
    games = "-".join(map(str, told.score.get("games") or (0, 0)))
    return f"Not decided; the last score is {f'{sets}, then ' if sets else ''}{games} in games."


def point_words(point: kept.StoryPoint) -> str:
    """Describe a point: the score before it, who won it, and how much it was worth in the match."""
    calls = "-".join(map(str, point.score.get("points") or ("0", "0")))
    server = {"own": ", your serve", "opponent": ", opponent's serve", None: ""}[point.server]
    outcome = "won" if point.winner == "own" else "lost"
    worth = f"worth {percent(point.importance)} of the match"
    return f"set {point.set}, game {point.game}, at {calls}{server}: {outcome}, {worth}"


def start_words(told: kept.Debrief) -> str:
    """State the chance before the first point, and that it is based on the level gap alone."""
    if not told.story:
        return ""
    posted = f'"{told.level_gap}" as posted' if told.level_gap else "level, as none was posted"
    return (
        f"The chance of winning began at {percent(told.story[0].chance_before)}. That is the prior: the expectation "
        f"before the first point, from the level gap alone (opponent {posted})."
    )


def played_words(one: kept.Played) -> str:
    """Describe when a tactic was played, the verdict on it, and the reason in counts."""
    times = [_game(game) for game in dict.fromkeys((one.since, one.until)) if game]
    said = f"{one.verdict}: {one.why}" if one.verdict else UNTRIED
    return f"{' to '.join(times) or 'games not noted'}; {said}"


def change_words(one: kept.TheirChange) -> str:
    """Describe when the opponent changed their play, at which score, after which event, and what changed."""
    at = f"at {one.at}" if one.at else ""
    game = _game(one.since) if one.since else "game not noted"
    return f"{', '.join(filter(None, (game, at, one.after)))}: {one.what}"


def _game(game: Game) -> str:
    return f"set {game[0]}, game {game[1]}"


def with_wing(title: str, wing: str | None) -> str:
    """Return a title, with the wing appended unless the title names it."""
    return f"{title} ({wing})" if wing and wing not in title.lower() else title


def share_words(tries: kept.TriedShare) -> str:
    """Describe the points won out of the tries, with the interval."""
    if tries.low is None or tries.high is None:
        return UNTRIED
    return f"{tries.won} of {tries.of} won ({percent(tries.low)} to {percent(tries.high)})"


def suggested_words(line: kept.TacticLine) -> str:
    """Describe how often the tactic was suggested, shown first, used and not used."""
    parts = [f"suggested {_times(line.suggested)}" if line.suggested else "not suggested"]
    parts += [f"first {_times(line.first)}"] if line.first else []
    parts += [f"used {_times(line.used)}"] if line.used else []
    parts += [f"not used {_times(line.not_used)}"] if line.not_used else []
    return ", ".join(parts)


def verdict_words(line: kept.TacticLine) -> str:
    """Describe how the tries compare with playing without the tactic; empty if it was not tried."""
    if line.worse is None:
        return ""
    chance = f"{percent(line.worse)} likely to do worse than playing without it"
    return chance if line.enough else f"{chance}, but there are too few tries to tell"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


SURPRISES = "The beliefs that moved most: after the match, and before it"


def debrief_text(told: kept.Debrief, form: str) -> str:
    """Return the debrief as a page or as Markdown. Everything except our own pictures is escaped."""
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
        story=Markup(story) if story else None,  # pictures escape their text  # nosec B704
        surprises=Markup(surprises) if surprises else None,  # the same  # nosec B704
    )


blueprint = routes.KeptBlueprint("debrief")
FORMS = (routes.JSON, routes.MARKDOWN, routes.HTML)


@blueprint.get("/v1/matches/<id:match_id>/debrief", scope="read", conflict=True)
@blueprint.response(200, DebriefSchema, description="The debrief.")
@routes.offers(*FORMS)
def get_debrief(match_id: str) -> Response:
    """Get a finished match's debrief.

    The debrief shows how the score developed, what was played and when, what the opponent changed and when, what was
    suggested, tried and won (with intervals), beliefs at the start and end, surprises, and what to start with next
    time. It comes as JSON, as Markdown (Accept: text/markdown), or as a page to print (Accept: text/html). It is
    refused during the match, because the event may not permit analysis then.
    """
    if matches.get(*here(), match_id).status != "ended":
        refuse("match-not-ended", "end the match first")
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
