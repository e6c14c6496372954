"""Pictures of a match under way: the win chance, what is believed and why, where the opponent serves."""
