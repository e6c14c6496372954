"""What may be true of an opponent, and what speaks for it.

Not here: the traits themselves (rules/traits), how strongly they are believed (tacticapi.evidence).
Next: `routes`, `schemas`.
"""
