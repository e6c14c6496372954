"""What the service answers with, as frozen dataclasses."""
