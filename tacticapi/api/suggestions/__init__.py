"""Advice for one situation, nothing kept.

Not here: how advice comes about (tacticapi.advice), the body (tacticapi.api.situations), kept matches (live).
Next: `routes`, `presenter`, `schemas`.
"""
