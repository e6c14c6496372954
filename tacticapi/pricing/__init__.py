"""What a tactic, a further look and a serve mix are worth.

Not here: evidence (beliefs come in as numbers inside firings), wording, ranking, and which spot suits which opponent
(the rulebook).
Next: `price` for the gain in points, `match_gain` for the gain in match chance, `baseline` for what it is measured
against and for what tries say. The games between server and receiver: `zero_sum` for the theory, `serve_mix` for the
mix to advise, `predictability` for sequences that give their server away.
"""
