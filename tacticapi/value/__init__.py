"""What a firing is worth, in points, and whether what was tried pays.

Not here: evidence (beliefs come in as numbers inside firings), wording, ranking.
Next: `price` for one firing, `baseline` for what it is measured against, `verdict` for what was tried.
"""

from tacticapi.value.baseline import Baseline, baseline
from tacticapi.value.match_gain import MatchGain, MatchPricer
from tacticapi.value.price import price
from tacticapi.value.verdict import TryVerdict, chance_below, judge_tries

__all__ = ["Baseline", "MatchGain", "MatchPricer", "TryVerdict", "baseline", "chance_below", "judge_tries", "price"]
