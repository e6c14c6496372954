"""The true chance to win the match from a score, for known chances to win a point."""

from collections.abc import Sequence

import numpy as np

from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.reading import read_score
from tests.rehearsal.world.match import Score
from tests.rehearsal.world.pairing import Chances


def match_chances(score: Score, chances: Sequence[Chances]) -> list[float]:
    """Chances to win a best of three from the start of a game, points independent, one for each pair of chances."""
    fmt = Format.from_wire({"sets": 3})
    model = MatchModel(fmt, np.array([c.serve for c in chances]), np.array([c.return_ for c in chances]))
    return [float(x) for x in np.asarray(model.at(read_score(fmt, score.wire())).match.now)]
