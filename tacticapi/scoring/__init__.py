"""Scoring: match formats, the state of a score, the exact chance of winning from it, and what a point is worth."""
