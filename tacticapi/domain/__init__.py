"""Frozen dataclasses and enums that all folders share: no arithmetic, no files, no HTTP."""
