"""Whether the process lives, and whether it can answer.

Not here: counts for those who watch (tacticapi.api.metrics), what makes a worker unfit (tacticapi.api.worker).
Next: `routes`, `schemas`.
"""
