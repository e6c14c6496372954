"""Scoring: match formats, the state of a score, the exact chance of winning from it, and what a point is worth.

Here: reading and refusing scores (`read_score`), playing points (`after`), what hangs on the next point
(`next_point`), changes of ends and places in the match, chances from any score (`MatchModel`), their
mean and percentiles over uncertain point chances (`expected`, `percentiles`) and importance.
Not here: what a tactic changes about the point chances and what that is worth (tacticapi.value), and how point
chances are estimated from what was seen (tacticapi.value, tacticapi.evidence).
Next: `formats` and `state` for the score, `race` for the mathematics.
"""

from tacticapi.scoring.ends import ends_change_after_game, is_change_of_ends, points_to_end_change
from tacticapi.scoring.errors import Fault, ScoreError
from tacticapi.scoring.fold import after
from tacticapi.scoring.formats import Format
from tacticapi.scoring.game import game_chance, game_outlook
from tacticapi.scoring.importance import Importance, importance_table
from tacticapi.scoring.match import Chances, MatchModel
from tacticapi.scoring.next_point import Court, NextPoint, next_point
from tacticapi.scoring.place import games_completed, games_since, place
from tacticapi.scoring.posterior import beta_nodes, expected, expected_importance, percentiles
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
