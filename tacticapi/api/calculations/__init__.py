"""Calculations of a model: win chance, importance of points, serve mix.

Not here: the mathematics (tacticapi.scoring, tacticapi.games) and where point chances come from (tacticapi.value).
Next: `occasion` (what every body and answer shares), then `points` and `serves` (bodies), `routes`.
"""
