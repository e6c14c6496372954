"""Points of a match: who won each, or the score set by hand; the score follows.

Not here: the score that follows (tacticapi.club.scorekeeping), what all entries share (tacticapi.api.entries).
Next: `routes`, `schemas`.
"""
