"""Tactics tried in a match, with the points won by them."""
