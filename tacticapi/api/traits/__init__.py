"""What may be true of an opponent, and what speaks for it."""
