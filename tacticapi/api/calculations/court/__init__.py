"""Calculations on court and ball: how risky a shot is, where to stand, how big a gap is enough.

Not here: the physics and geometry (tacticapi.court) and their numbers (rules/court.yaml). Next: `parts` (what the
bodies share), then for each calculation its body, its answer and its picture.
"""
