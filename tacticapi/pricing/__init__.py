"""Price tactics, further looks and serve mixes.

`price` gives the gain in points, `match_gain` in match chance, `baseline` what gains are measured against. The games
between server and receiver are in `serve_mix` and `predictability`.
"""
