"""JSON Schemas of what is posted and answered, for clients that check before they post and after they read."""
