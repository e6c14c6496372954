"""What all tables share: the club first in the key, names for every constraint, one type a sort of value."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, MetaData, String
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from tacticapi.store.types import UtcTime

ID = String(36)
WORD = String(40)
LABEL = String(100)
NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


class Base(DeclarativeBase):
    """All tables."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {  # noqa: RUF012  (SQLAlchemy reads it from the class)
        datetime: UtcTime(),
        dict[str, Any]: JSON(none_as_null=True),
        list[str]: JSON(none_as_null=True),
        list[Any]: JSON(none_as_null=True),
    }


class ClubTable(Base):
    """A table whose rows belong to a club."""

    __abstract__ = True

    @declared_attr
    def club_id(cls) -> Mapped[str]:
        """The club; its rows go with it."""
        return mapped_column(ID, ForeignKey("clubs.club_id", ondelete="CASCADE"), primary_key=True, sort_order=-2)


class Kept(ClubTable):
    """A row with an id of its own."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(ID, primary_key=True, sort_order=-1)
