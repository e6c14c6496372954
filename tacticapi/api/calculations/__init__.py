"""Calculations of a model: win chance, importance of points, serve mix.

Not here: the mathematics (tacticapi.scoring, tacticapi.pricing) and where point chances come from (tacticapi.pricing).
Next: `occasion` (what every body and answer shares), then `points` and `serves` (bodies), `routes`.
"""
