"""Frozen dataclasses and enums that every other folder speaks in: no arithmetic, no files, no HTTP."""
