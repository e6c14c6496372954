"""The tables. Every one has a club, and every key and foreign key begins with it.

Not here: records as the rest of the program sees them (`records`), queries (`repositories`).
Next: `base` (what all share), `club`, `match`, `advice`.
"""

from tacticapi.store.tables.advice import AnswerRow, FeedbackRow, SnapshotRow
from tacticapi.store.tables.base import Base, ClubTable, Kept
from tacticapi.store.tables.club import ClubRow, PlayerRow, TokenRow
from tacticapi.store.tables.match import EntryTable, MatchRow, ObservationRow, PointRow, TryRow

__all__ = [
    "AnswerRow",
    "Base",
    "ClubRow",
    "ClubTable",
    "EntryTable",
    "FeedbackRow",
    "Kept",
    "MatchRow",
    "ObservationRow",
    "PlayerRow",
    "PointRow",
    "SnapshotRow",
    "TokenRow",
    "TryRow",
]
