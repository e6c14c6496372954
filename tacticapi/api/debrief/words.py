"""The parts of a debrief in words, shared by its Markdown, its page and its pictures."""

from tacticapi.club.debrief import BeliefMove, Debrief, Share, StoryPoint, TacticLine
from tacticapi.pictures import percent

NOTES = (
    "Win chances rest on the points of this match and on priors of this service (model defaults). They tell how the "
    "score went, predict nothing, and are not for betting.",
    "An interval holds the true share in about 8 of 10 such cases; few tries leave it wide.",
    "Health items served the match while it was played. They are not kept and are not part of this debrief.",
)
NOBODY = "a player who was erased"
UNTRIED = "not tried"


def heading(told: Debrief) -> str:
    """Who met whom, and when."""
    return f"{told.own or NOBODY} and {told.opponent or NOBODY}, {told.started_at:%Y-%m-%d}"


def result(told: Debrief) -> str:
    """The last score, and who has won by it."""
    if told.score is None:
        return "No score was kept."
    sets = " ".join(f"{own}-{opponent}" for own, opponent in told.score["sets"])
    if told.winner:
        return f"{'Won' if told.winner == 'own' else 'Lost'} {sets}."
    games = "-".join(map(str, told.score.get("games") or (0, 0)))
    return f"Not decided; the last score is {f'{sets}, then ' if sets else ''}{games} in games."


def point_words(point: StoryPoint) -> str:
    """Where a point stood, who won it, what it was worth in the match."""
    calls = "-".join(map(str, point.score.get("points") or ("0", "0")))
    server = {"own": ", own serve", "opponent": ", opponent's serve", None: ""}[point.server]
    outcome = "won" if point.winner == "own" else "lost"
    worth = f"worth {percent(point.importance)} of the match"
    return f"set {point.set}, game {point.game}, at {calls}{server}: {outcome}, {worth}"


def belief_name(move: BeliefMove) -> str:
    """The trait, with its wing where it has one and does not name it already."""
    return with_wing(move.title, move.wing)


def with_wing(title: str, wing: str | None) -> str:
    """A title, with the wing where it does not name it already."""
    return f"{title} ({wing})" if wing and wing not in title.lower() else title


def share_words(tries: Share) -> str:
    """Points won of tries, with the interval."""
    if tries.low is None or tries.high is None:
        return UNTRIED
    return f"{tries.won} of {tries.of} won ({percent(tries.low)} to {percent(tries.high)})"


def suggested_words(line: TacticLine) -> str:
    """How often it was suggested, and what became of that."""
    parts = [f"suggested {_times(line.suggested)}" if line.suggested else "not suggested"]
    parts += [f"first {_times(line.first)}"] if line.first else []
    parts += [f"used {_times(line.used)}"] if line.used else []
    parts += [f"not used {_times(line.not_used)}"] if line.not_used else []
    return ", ".join(parts)


def verdict_words(line: TacticLine) -> str:
    """What the tries say against going without it; nothing where it was not tried."""
    if line.worse is None:
        return ""
    chance = f"does worse than going without it with a chance of {percent(line.worse)}"
    return chance if line.enough else f"{chance}, but these are too few tries to tell"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
