"""Advice with the whole trace behind it: facts, fired rules, why and why not.

Not here: why and why not (tacticapi.advice.explain); the body, which is that of suggestions
(tacticapi.api.situations).
Next: `routes`, `presenter`.
"""
