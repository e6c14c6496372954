"""Define match formats and scores, and compute the exact chance to win from a score and the worth of a point."""
