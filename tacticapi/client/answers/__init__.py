"""What the service answers with, as frozen dataclasses.

Not here: asking (`client`, `match`), showing (`shown/`).
Next: `reading` (JSON to a dataclass), then a module a subject.
"""
