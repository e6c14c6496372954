"""Scoring: match formats, the state of a score, the exact chance of winning from it, and what a point is worth.

Here: reading and refusing scores (`read_score`), playing points (`play`), what hangs on the next point
(`next_point`), changes of ends and places in the match, chances from any score (`MatchModel`, `win_chance`), their
mean and percentiles over uncertain point chances (`expected`, `percentiles`, `quantiles`) and importance.
Not here: what a tactic changes about the point chances and what that is worth (tacticapi.value), and how point
chances are estimated from what was seen (tacticapi.value, tacticapi.evidence).
Next: `formats` and `state` for the score, `race` for the mathematics.
"""

from tacticapi.scoring.ends import ends_change_after_game, is_change_of_ends, points_to_end_change
from tacticapi.scoring.errors import Fault, ScoreError
from tacticapi.scoring.fold import after, play
from tacticapi.scoring.formats import Format
from tacticapi.scoring.game import game_chance, game_outlook
from tacticapi.scoring.importance import (
    Importance,
    game_importance,
    importance_table,
    match_importance,
    point_importance,
)
from tacticapi.scoring.match import Chances, MatchModel, win_chance
from tacticapi.scoring.next_point import Court, NextPoint, next_point
from tacticapi.scoring.place import games_completed, games_since, place
from tacticapi.scoring.posterior import beta_nodes, expected, expected_importance, percentiles, quantiles
from tacticapi.scoring.race import Outlook
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.set_rules import SetRule, TieBreak
from tacticapi.scoring.sets import set_outlook
from tacticapi.scoring.sides import SIDES, Pair, Side, other
from tacticapi.scoring.state import State
from tacticapi.scoring.tie_break import tie_break_outlook

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
    "game_importance",
    "game_outlook",
    "games_completed",
    "games_since",
    "importance_table",
    "is_change_of_ends",
    "match_importance",
    "next_point",
    "other",
    "percentiles",
    "place",
    "play",
    "point_importance",
    "points_to_end_change",
    "quantiles",
    "read_score",
    "set_outlook",
    "tie_break_outlook",
    "win_chance",
]
