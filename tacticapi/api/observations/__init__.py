"""What was seen in a match: one, a list, or JSON Lines in bulk; corrected and taken back by further entries.

Not here: what a kind of observation is (tacticapi.api.vocabulary), how one is checked (tacticapi.api.situations).
Next: `routes`, `bulk` (JSON Lines), `schemas`.
"""
