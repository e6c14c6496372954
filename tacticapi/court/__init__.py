"""Court and ball: what flies where, how risky a shot is, where to stand, how big a gap is enough.

Here: the net, flight and bounce (`flight`), a shot and its outcomes (`shot`), chances and the best aim (`margin`),
where to stand, gaps and patterns (`standing`), lob and smash (`lob_and_smash`).
Not here: what the numbers are (rules/court.yaml; `numbers` reads them), which tactic wants them (the rulebook).
Metres, seconds, degrees and revolutions a minute throughout, in the coordinates of `domain.court`.
"""
