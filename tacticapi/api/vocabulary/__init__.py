"""What can be seen, and how it may be said.

Not here: the kinds themselves (rules/observations), the same as JSON Schema (tacticapi.api.contract.vocabulary).
Next: `routes`, `schemas`.
"""
