"""The plan card: one page of A6 to print before a match.

Not here: what is advised (tacticapi.club.card).
Next: `routes`, `as_page` (the page), `fitting` (what still fits on it).
"""
