"""Advice on a match from everything that is kept of it: now, and as it was given.

Not here: how a situation comes of what is kept (tacticapi.club.situations), advice on a posted one (suggestions).
Next: `routes`, `presenter`.
"""
