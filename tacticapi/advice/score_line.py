"""The score in one line: what the next point is, what it is worth, who serves it and to which court."""

from tacticapi.scoring import NextPoint, State

STAKES = (
    ("match_point", "match point"),
    ("set_point", "set point"),
    ("break_point", "break point"),
    ("game_point", "game point"),
)


def score_line(state: State, point: NextPoint, worth: float) -> str:
    """Return for example "break point against you, worth 0.19 of the match; you serve to the ad court".

    `worth` is the importance of the point in the match, 0 to 1.
    """
    if state.winner is not None:
        return "the match is over: you won" if state.winner == "own" else "the match is over: your opponent won"
    parts = [f"{_stake(state, point)}, worth {worth:.2f} of the match"]
    court = "either court (the receiver chooses)" if len(point.courts) > 1 else f"the {point.courts[0]} court"
    if state.server is not None:
        who = "you serve" if state.server == "own" else "your opponent serves"
        parts.append(f"{who} to {court}")
    return "; ".join(parts)


def _stake(state: State, point: NextPoint) -> str:
    for name, words in STAKES:
        sides = getattr(point, name) or ()
        if len(sides) > 1:
            return f"{words} for both"
        if sides:
            return f"{words} for you" if "own" in sides else f"{words} against you"
    return "tie-break point" if state.in_tie_break else "an open point"
