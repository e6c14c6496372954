"""Frozen dataclasses and enums that every other folder speaks in.

Not here: arithmetic, files, HTTP. Nothing in this folder imports anything of ours outside it.
Next: `situation` (what comes in), `rules` (the rulebook), `reasoning` (the steps between), `advice` (what goes out).
"""
