"""Turn observations into a profile of each player, and the opponent's profile into beliefs. Start with `beliefs`."""
