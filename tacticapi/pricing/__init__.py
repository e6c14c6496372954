"""Price tactics, further looks and serve mixes.

`price` computes gains in points, `match_gain` converts them to match chance, and `baseline` estimates the share that
gains are measured against. `serve_mix` and `predictability` model the game between server and receiver.
"""
