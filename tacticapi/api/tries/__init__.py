"""Tactics tried in a match, with the points won by them.

Not here: what a try says of a tactic (tacticapi.pricing.baseline), what all entries share (tacticapi.api.entries).
Next: `routes`, `schemas`.
"""
