"""What became of a suggestion: used, not used with the reason, or how it turned out."""
