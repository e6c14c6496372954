"""What can be seen, and how it may be said."""
