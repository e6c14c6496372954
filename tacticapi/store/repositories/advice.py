"""Snapshots, feedback, and answers to repeated requests."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import IntegrityError

from tacticapi.store.records import Answer, Feedback, Snapshot
from tacticapi.store.repositories.base import Repository, Unfit
from tacticapi.store.tables import AnswerRow, FeedbackRow, SnapshotRow


class Snapshots(Repository[Snapshot]):
    """Advice that was given."""

    row, record = SnapshotRow, Snapshot

    def latest(self, match_id: str) -> Snapshot | None:
        """The newest snapshot of a match."""
        newest_first = self._mine(match_id=match_id).order_by(None).order_by(self._table.c.id.desc())
        return self._first(newest_first)

    def delete_of_match(self, match_id: str) -> int:
        """Remove the snapshots of a match, their feedback with them; says how many."""
        return self._remove(self._table.c.match_id == match_id)


class FeedbackLines(Repository[Feedback]):
    """What became of suggestions."""

    row, record = FeedbackRow, Feedback

    def of_match(self, match_id: str) -> list[Feedback]:
        """The feedback on every snapshot of a match."""
        snapshots = SnapshotRow.__table__.c
        mine = select(snapshots.id).where(snapshots.club_id == self.club_id, snapshots.match_id == match_id)
        return self._all(self._mine().where(self._table.c.snapshot_id.in_(mine)))


class Answers(Repository[Answer]):
    """What requests with an idempotency key did."""

    row, record, key, order = AnswerRow, Answer, "key", "key"

    def claim(self, key: str, request_hash: str, now: datetime) -> Answer | None:
        """Take a key for this unit of work: None when it was free, else what was kept under it.

        Waits for another unit of work that has taken the key and not ended yet. Raises Unfit for a club that is gone.
        """
        dialect = postgresql if self._connection.dialect.name == "postgresql" else sqlite
        values = {"club_id": self.club_id, "key": key, "request_hash": request_hash, "created_at": now}
        insert = dialect.insert(self._table).values(**values).on_conflict_do_nothing()
        try:
            taken = self._connection.execute(insert.returning(self._table.c.key)).first()
        except IntegrityError as error:
            raise Unfit(self._table.name) from error
        return None if taken else self.get(key)

    def settle(self, key: str, answer: Mapping[str, Any]) -> bool:
        """Keep what was done under a key."""
        return self.update(key, {"answer": dict(answer)})

    @staticmethod
    def possible(id: str) -> bool:
        """Any text may be a key."""
        return True

    def delete_before(self, moment: datetime) -> int:
        """Forget the keys that came before a moment; says how many."""
        return self._remove(self._table.c.created_at < moment)
