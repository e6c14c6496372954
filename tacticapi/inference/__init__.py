"""From facts to firings: which rules of the rulebook hold, and on which facts each of them rests.

Not here: probabilities, gains, ranking. The only folder that knows the rule engine.
Next: `matcher` (what callers use), `compile` (rulebook to rules), `engine`, `evaluator` (the same meaning in
plain Python), `lint` (what a rulebook must not ask of the engine), `facts` and `circumstances` (what goes in).
"""
