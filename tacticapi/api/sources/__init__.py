"""The publications that tactics rest on.

Not here: their texts (rules/sources.yaml).
Next: `routes`, `schemas`.
"""
