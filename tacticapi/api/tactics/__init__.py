"""The tactics of the rulebook."""
