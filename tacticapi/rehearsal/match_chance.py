"""The true chance to win the match from a score, for known chances to win a point."""

import numpy as np

from tacticapi.rehearsal.world.match import Score
from tacticapi.rehearsal.world.pairing import Chances
from tacticapi.scoring import Format, MatchModel, read_score


def match_chance(score: Score, chances: Chances) -> float:
    """Chance to win a best of three from the start of a game, points independent."""
    fmt = Format.from_wire({"sets": 3})
    model = MatchModel(fmt, np.array([[chances.serve]]), np.array([chances.return_]))
    return float(np.asarray(model.at(read_score(fmt, score.wire())).match.now).ravel()[0])
