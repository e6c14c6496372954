"""Advice on a match from everything that is kept of it: now, and as it was given."""
