"""Zero-sum mixing of serve directions: which mix to serve, in what order, and whether a pattern gives it away.

Here: exact solutions of small games (`solve`), the mix to advise from counts with its uncertainty (`best_mix`), tests
of a sequence of serves (`judge_sequence`, `share_after`), the order of the next serves (`next_ten`), and all of it for
both sides of the court (`serve_mix`).
Not here: which spot suits which opponent (the rulebook), and what a point is worth in a match (tacticapi.scoring).
Next: `zero_sum` for the theory, `best_mix` for which game is solved when the chances are uncertain.
"""

from tacticapi.games.best_mix import MixAdvice, MixModel, Serves, SpotCounts, SpotShare, best_mix
from tacticapi.games.predictability import ShareAfter, Verdict, judge_by_score, judge_sequence, share_after
from tacticapi.games.serve_mix import CourtMix, CourtServes, Served, Server, next_ten, serve_mix, whole_serves
from tacticapi.games.zero_sum import Solution, exploitability, guaranteed, solve

__all__ = [
    "CourtMix",
    "CourtServes",
    "MixAdvice",
    "MixModel",
    "Served",
    "Server",
    "Serves",
    "ShareAfter",
    "Solution",
    "SpotCounts",
    "SpotShare",
    "Verdict",
    "best_mix",
    "exploitability",
    "guaranteed",
    "judge_by_score",
    "judge_sequence",
    "next_ten",
    "serve_mix",
    "share_after",
    "solve",
    "whole_serves",
]
