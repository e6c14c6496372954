"""The club itself, its tokens and its players."""

from datetime import date, datetime

from sqlalchemy import or_

from tacticapi.store.records import Club, Player, Token
from tacticapi.store.repositories.base import Repository
from tacticapi.store.tables import ClubRow, PlayerRow, TokenRow


class Clubs(Repository[Club]):
    """The one club of this unit of work."""

    row, record, key, order = ClubRow, Club, "club_id", "club_id"

    def mine(self) -> Club | None:
        """The club; None where there is none of this id."""
        return self.get(self.club_id)


class Tokens(Repository[Token]):
    """Tokens of the club."""

    row, record = TokenRow, Token

    def mark_used(self, id: str, day: date) -> bool:
        """Note the day of use."""
        return self.update(id, {"last_used": day})

    def delete_dead(self, before: datetime) -> int:
        """Remove tokens that expired or were revoked before a moment; says how many."""
        columns = self._table.c
        return self._remove(or_(columns.expires_at < before, columns.revoked_at < before))


class Players(Repository[Player]):
    """Players of the club and opponents."""

    row, record = PlayerRow, Player

    def labelled(self, side: str, label: str) -> Player | None:
        """The player of this side with this label."""
        return self._first(self._mine(side=side, label=label))
