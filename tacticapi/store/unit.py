"""One unit of work: everything that a use case does to one club, all of it or nothing."""

from types import TracebackType
from typing import Self

from sqlalchemy import Connection, select

from tacticapi.store.engine import READ_ONLY, Engine, is_sqlite
from tacticapi.store.repositories.advice import Answers, FeedbackLines, Snapshots
from tacticapi.store.repositories.club import Clubs, Players, Tokens
from tacticapi.store.repositories.match import Matches, Observations, Points, Tries
from tacticapi.store.tables import ClubRow, TokenRow


class UnitOfWork:
    """Opens a transaction for one club; what is not committed is undone when it is left.

    with UnitOfWork(engine, club_id) as work:
        work.players.add(player)
        work.commit()

    A read-only unit sees one state of the database throughout and keeps no writer waiting.
    """

    def __init__(self, engine: Engine, club_id: str, *, read_only: bool = False) -> None:
        """Choose engine and club; nothing is asked of the database yet."""
        self.engine, self.club_id, self.read_only = engine, club_id, read_only

    def __enter__(self) -> Self:
        self._connection = _connect(self.engine, self.read_only)
        try:
            self._transaction = self._connection.begin()
        except BaseException:
            self._connection.close()
            raise
        bound = (self._connection, self.club_id)
        self.clubs, self.tokens, self.players = Clubs(*bound), Tokens(*bound), Players(*bound)
        self.matches, self.observations = Matches(*bound), Observations(*bound)
        self.points, self.tries = Points(*bound), Tries(*bound)
        self.snapshots, self.feedback, self.answers = Snapshots(*bound), FeedbackLines(*bound), Answers(*bound)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            if self._transaction.is_active:
                self._transaction.rollback()
        finally:
            self._connection.close()

    def commit(self) -> None:
        """Make everything done so far lasting. Nothing may follow in this unit."""
        self._transaction.commit()


def club_ids(engine: Engine) -> list[str]:
    """The ids of all clubs, for what is done to each in turn."""
    with _connect(engine, read_only=True) as connection:
        return list(connection.scalars(select(ClubRow.club_id).order_by(ClubRow.club_id)))


def any_token(engine: Engine) -> bool:
    """Return whether any club has a token, one that expired or was revoked included."""
    with _connect(engine, read_only=True) as connection:
        return connection.scalar(select(TokenRow.id).limit(1)) is not None


def _connect(engine: Engine, read_only: bool) -> Connection:
    connection = engine.connect()
    if not read_only:
        return connection
    if is_sqlite(engine):
        return connection.execution_options(**{READ_ONLY: True})
    return connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
