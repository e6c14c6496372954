"""What was seen in a match: one, a list, or JSON Lines in bulk; corrected and taken back by further entries."""
