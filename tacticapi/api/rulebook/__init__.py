"""The rulebook as a whole: which rules answer here."""
