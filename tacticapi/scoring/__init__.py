"""Define match formats and scores, and compute the exact chance of winning from a score and how much points matter."""
