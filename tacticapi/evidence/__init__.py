"""Read observations into one profile of each player, and the profile into beliefs. Start with `beliefs`."""
