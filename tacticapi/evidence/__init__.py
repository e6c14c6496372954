"""Observations to one profile of each player, and from it to beliefs. `beliefs` holds the road."""
