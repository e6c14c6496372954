"""Checks that several use cases share: labels, facts to keep, versions."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.knowledge import Fault
from tacticapi.service.errors import Refused, refuse
from tacticapi.service.facts import fact_faults, kinds_of
from tacticapi.service.health import health_of

LONGEST_LABEL = 100
EARLIEST, LONGEST_AHEAD = datetime(1900, 1, 1, tzinfo=UTC), timedelta(days=731)


def checked_label(label: str) -> str:
    """A nickname, code or name. Raises Refused unless it has 1 to 100 printable characters."""
    trimmed = label.strip()
    if not (1 <= len(trimmed) <= LONGEST_LABEL and trimmed.isprintable()):
        raise refuse(f"a text of 1 to {LONGEST_LABEL} characters", "label", value=label)
    return trimmed


def checked_facts(subject: str, facts: Mapping[str, Any], rulebook: Rulebook, *, health: bool = True) -> dict[str, Any]:
    """Facts of context, own or opponent by vocabulary key, without nulls. Raises Refused with every fault.

    health: whether health items may stand there, as in a running match.
    """
    given = {key: value for key, value in facts.items() if value is not None}
    faults = fact_faults(subject, given, kinds_of(rulebook, subject))
    if not health:
        where = "a health item, which serves a running match only and is not kept"
        faults += [Fault((key,), None, f"not {key}: {where}") for key in health_of(rulebook).keys(subject, given)]
    if faults:
        raise Refused(Fault((subject, *fault.path), fault.value, fault.expected) for fault in faults)
    return given


def checked_day(moment: datetime, name: str, now: datetime) -> datetime:
    """Return a time with its zone, from 1900 to two years from now: what is kept is swept by it. Raises Refused."""
    if not EARLIEST <= checked_moment(moment, name) <= now + LONGEST_AHEAD:
        raise refuse("a time from 1900 to two years from now", name, value=moment.isoformat())
    return moment


def checked_moment(moment: datetime, name: str) -> datetime:
    """A time with its zone. Raises Refused for one without."""
    if moment.tzinfo is None:
        raise refuse("a time with its time zone", name, value=moment.isoformat())
    return moment
