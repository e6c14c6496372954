"""Clubs: the tenants, and how long they keep what was seen."""

from typing import Any

from tacticapi.service.checks import checked_label
from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotFound, VersionConflict, refuse
from tacticapi.service.policy import KEEP_DAYS, KEEP_DAYS_UNDER_18
from tacticapi.store import Club, UnitOfWork, club_ids, new_id

LONGEST_KEEP_DAYS = 36_500


def create(
    desk: Desk, label: str, *, keep_days: int | None = KEEP_DAYS, keep_days_under_18: int | None = KEEP_DAYS_UNDER_18
) -> Club:
    """A new club. Days are how long a match is kept after its end, None for good. Raises Refused."""
    check_days(keep_days=keep_days, keep_days_under_18=keep_days_under_18)
    club = Club(new_id(), checked_label(label), keep_days, keep_days_under_18, 1, desk.now())
    with desk.work(club.club_id) as work:
        work.clubs.add(club)
        work.commit()
    return club


def every(desk: Desk) -> list[Club]:
    """All clubs, for the operator."""
    return [get(desk, club_id) for club_id in club_ids(desk.engine)]


def get(desk: Desk, club_id: str) -> Club:
    """The club. Raises NotFound."""
    with desk.reading(club_id) as work:
        return known_club(work)


def exists(desk: Desk, club_id: str) -> bool:
    """Whether the club is still here."""
    with desk.reading(club_id) as work:
        return work.clubs.mine() is not None


def update(desk: Desk, club_id: str, version: int, **changes: Any) -> Club:
    """Change label, keep_days or keep_days_under_18 of the version that was read.

    Raises NotFound, VersionConflict, Refused.
    """
    if unknown := changes.keys() - {"label", "keep_days", "keep_days_under_18"}:
        raise refuse("label, keep_days or keep_days_under_18", *sorted(unknown)[:1])
    if "label" in changes:
        changes["label"] = checked_label(changes["label"])
    check_days(**{name: days for name, days in changes.items() if name != "label"})
    with desk.work(club_id) as work:
        known_club(work)
        if not work.clubs.update_version(club_id, version, changes):
            raise VersionConflict("club", known_club(work).version)
        changed = known_club(work)
        work.commit()
    return changed


def known_club(work: UnitOfWork) -> Club:
    """The club of a unit of work. Raises NotFound."""
    club = work.clubs.mine()
    if club is None:
        raise NotFound("club", work.club_id)
    return club


def check_days(**named: int | None) -> None:
    """Raises Refused for days that are no days to keep a match for."""
    for name, days in named.items():
        if days is not None and not 1 <= days <= LONGEST_KEEP_DAYS:
            raise refuse(f"whole days from 1 to {LONGEST_KEEP_DAYS:,}, or null to keep for good", name, value=days)
