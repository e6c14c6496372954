"""The tactics of the rulebook.

Not here: the tactics themselves (rules/tactics), which of them fit now (suggestions).
Next: `routes`, `presenter`, `schemas`.
"""
