"""What a firing and a further look are worth, whether what was tried pays, and whether their play changed.

Not here: evidence (beliefs come in as numbers inside firings), wording, ranking.
Next: `price` for one firing, `baseline` for what it is measured against, `verdict` for what was tried, `stakes`
for what hangs on each belief, `looks` for what a further look is worth, `change_point` for a share that moved.
"""

from tacticapi.value.baseline import Baseline, baseline, posteriors
from tacticapi.value.change_point import ChangePoint, change_point
from tacticapi.value.looks import LookTable
from tacticapi.value.match_gain import MatchGain, MatchPricer
from tacticapi.value.play_prices import PlayPrices
from tacticapi.value.price import price
from tacticapi.value.stakes import PlayTable, Stakes
from tacticapi.value.verdict import TryVerdict, chance_below, judge_tries

__all__ = [
    "Baseline",
    "ChangePoint",
    "LookTable",
    "MatchGain",
    "MatchPricer",
    "PlayPrices",
    "PlayTable",
    "Stakes",
    "TryVerdict",
    "baseline",
    "chance_below",
    "change_point",
    "judge_tries",
    "posteriors",
    "price",
]
