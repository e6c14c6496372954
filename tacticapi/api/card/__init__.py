"""The plan card: one page of A6 to print before a match."""
