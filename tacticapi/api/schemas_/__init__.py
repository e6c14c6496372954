"""JSON Schemas of what may be posted, for clients that check before they post."""
