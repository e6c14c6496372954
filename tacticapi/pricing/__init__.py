"""What a tactic, a further look and a serve mix are worth.

`price` gives the gain in points, `match_gain` that in match chance, `baseline` what it is measured against. The games
between server and receiver: `zero_sum`, `serve_mix`, `predictability`.
"""
