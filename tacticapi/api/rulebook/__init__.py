"""The rulebook as a whole: which rules answer here.

Not here: its parts: traits, tactics, sources, vocabulary have folders of their own.
Next: `routes`, `schemas`.
"""
