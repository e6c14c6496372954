"""Advice for a terminal and for a notebook, and pictures.

Not here: what the answers hold (`answers/`).
Next: `as_text`, `as_html`, `pictures`.
"""
