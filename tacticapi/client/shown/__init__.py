"""Advice for a terminal and for a notebook, and pictures."""
