"""What became of a suggestion: used, not used with the reason, or how it turned out.

Not here: tries with their points (tacticapi.api.tries), what feedback leads to (tacticapi.club.advising).
Next: `routes`, `schemas`.
"""
