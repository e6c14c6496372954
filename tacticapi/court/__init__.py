"""Court and ball: what flies where, how risky a shot is, where to stand, how big a gap is enough.

Not here: the numbers (rules/court.yaml; `numbers` reads them), and which tactic wants them (the rulebook).
Metres, seconds, degrees and revolutions a minute throughout, in the coordinates of `domain.court`.
"""
