"""Small worlds of tennis in which everything about the opponent is known, so that advice can be held against it.

Not here: anything of the recommender's making. No prior, likelihood, effect size or line of its code is used, and only
the standard library and numpy are imported. The numbers of these worlds are assumptions, set so that points look like
tennis (first serves in, aces, points won on serve and at the net, strokes a point) before any advice was tried on them.
Next: `worlds` (how the five differ), `shots` (what can be hit from where), `qualities` (who plays), `strokes` (what
comes of a stroke), `points` (the chance to win a point), `match` and `warm_up` (what can be seen), `seen` (what is
written down).
"""
