"""Matches of the club: who plays whom, where and under which rules, the score, the end.

Not here: what is added to a match (observations, points, tries), advice on it (live), its end
(tacticapi.club.matches).
Next: `routes`, `schemas`, `presenter`.
"""
