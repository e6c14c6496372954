"""Advice for one situation, nothing kept."""
