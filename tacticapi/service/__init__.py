"""Use cases: one function each, one unit of work each, for one club.

Here: clubs and tokens, players, matches and their entries, live advice, debrief, dossier, export and import, erasing,
retention. Not here: HTTP (tacticapi.api), queries (tacticapi.store), what advice says (tacticapi.advice).
Next: `desk` (what every use case needs), `errors` (how it refuses), `matches`, `situations`, `advising`.
"""

from tacticapi.service.desk import Desk
from tacticapi.service.errors import IdempotencyConflict, NotFound, NotPermitted, Refused, ServiceError, VersionConflict
from tacticapi.service.once import Once

__all__ = [
    "Desk",
    "IdempotencyConflict",
    "NotFound",
    "NotPermitted",
    "Once",
    "Refused",
    "ServiceError",
    "VersionConflict",
]
