"""Scoring: match formats, the state of a score, the exact chance of winning from it, and what a point is worth.

Here: reading and refusing scores (`read_score`), playing points (`after`), what hangs on the next point
(`next_point`), changes of ends and places in the match, chances from any score (`MatchModel`), their
mean and percentiles over uncertain point chances (`expected`, `percentiles`) and importance.
Not here: what a tactic changes about the point chances and what that is worth (tacticapi.pricing), and how point
chances are estimated from what was seen (tacticapi.pricing, tacticapi.evidence).
Next: `formats` and `score` for the score, `games_and_sets` for the mathematics.
"""

from tacticapi.scoring.formats import SIDES, Fault, Format, Pair, ScoreError, SetRule, Side, TieBreak, other
from tacticapi.scoring.games_and_sets import Outlook, game_chance, game_outlook, set_outlook, tie_break_outlook
from tacticapi.scoring.match import Chances, Importance, MatchModel, importance_table
from tacticapi.scoring.posterior import beta_nodes, expected, expected_importance, percentiles
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import (
    Court,
    NextPoint,
    State,
    after,
    ends_change_after_game,
    games_completed,
    games_since,
    is_change_of_ends,
    next_point,
    place,
    points_to_end_change,
)

__all__ = [
    "SIDES",
    "Chances",
    "Court",
    "Fault",
    "Format",
    "Importance",
    "MatchModel",
    "NextPoint",
    "Outlook",
    "Pair",
    "ScoreError",
    "SetRule",
    "Side",
    "State",
    "TieBreak",
    "after",
    "beta_nodes",
    "ends_change_after_game",
    "expected",
    "expected_importance",
    "game_chance",
    "game_outlook",
    "games_completed",
    "games_since",
    "importance_table",
    "is_change_of_ends",
    "next_point",
    "other",
    "percentiles",
    "place",
    "points_to_end_change",
    "read_score",
    "set_outlook",
    "tie_break_outlook",
]
