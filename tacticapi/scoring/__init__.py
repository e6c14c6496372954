"""Scoring: match formats, the state of a score, the exact chance of winning from it, and what a point is worth.

Here: match formats (`formats`), reading and refusing scores (`reading`), playing points, changes of ends and what hangs
on the next point (`score`), the mathematics of a game and a set (`games_and_sets`), chances and importance from any
score (`match`), their means and percentiles over uncertain point chances (`posterior`).
Not here: how point chances are estimated, and what a tactic changes about them (`pricing`).
"""
