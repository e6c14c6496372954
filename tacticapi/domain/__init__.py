"""Frozen dataclasses and enums that every other folder speaks in.

Not here: arithmetic, files, rules, HTTP. Nothing in this folder imports anything of ours outside it.
Next: `situation` (what comes in), `vocabulary`, `trait`, `tactic` (the rulebook), `advice` (what goes out).
"""
