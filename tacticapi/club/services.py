"""Provide what every use case needs: store, rules, clock, refusals (which change nothing), idempotent requests."""

import hashlib
import hmac
import json
import logging
import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Self, TypeVar

from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.files import Fault
from tacticapi.store import AWAY, ConstraintViolation, Engine, Entry, SchemaMismatch, UnitOfWork, truncate_log

if TYPE_CHECKING:  # it imports numpy and scipy, and most use cases need neither
    from tacticapi.advice import Adviser

# rows changed or deleted at once, so that no other writer waits for long: long rows, and entries
ROWS_IN_A_PIECE, ENTRIES_IN_A_PIECE = 50, 500
SALT_BYTES, HASH_BYTES = 16, 32
MAX_LABEL, MAX_KEY, MAX_EXTERNAL_ID = 100, 255, 64
EXTERNAL_ID = f"a string of 1 to {MAX_EXTERNAL_ID} printable characters without /"
MIN_TIME, MAX_AHEAD = datetime(1900, 1, 1, tzinfo=UTC), timedelta(days=731)
Done = Mapping[str, Any]
Thing = TypeVar("Thing")
SomeEntry = TypeVar("SomeEntry", bound=Entry)


# errors of a database that may still be readable but cannot be written to
UNWRITTEN: tuple[type[Exception], ...] = (*AWAY, SchemaMismatch)
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Services:
    """Resources shared by all use cases, one object per process. `now` returns a time with its zone."""

    engine: Engine
    adviser: "Adviser"
    now: Callable[[], datetime] = lambda: datetime.now(UTC)

    @property
    def rulebook(self) -> Rulebook:
        """Return the rulebook that this process uses."""
        return self.adviser.rulebook

    def work(self, club_id: str) -> UnitOfWork:
        """Return a unit of work that can write."""
        return UnitOfWork(self.engine, club_id)

    def reading(self, club_id: str) -> UnitOfWork:
        """Return a read-only unit of work that sees one consistent state."""
        return UnitOfWork(self.engine, club_id, read_only=True)


class ServiceError(Exception):
    """Base class for all refusals by a use case."""


class NotFound(ServiceError):
    """This club has nothing with this id. Other clubs' data is not found either."""

    def __init__(self, what: str, id: str) -> None:
        super().__init__(f"no {what} {id}")


class NotPermitted(ServiceError):
    """Only safety advice may be shown at this moment; the message says what to do and why."""


class VersionConflict(ServiceError):
    """The record has changed since it was read; `version` is its current version."""

    def __init__(self, what: str, version: int) -> None:
        self.version = version
        super().__init__(f"the {what} is now at version {version}: read it again before changing it")


class BeingFilled(ServiceError):
    """An import into the club is under way or was interrupted; until it is complete, the club accepts nothing else."""

    def __init__(self) -> None:
        super().__init__("an import into this club is under way; if it was interrupted, send the import again")


class LinkSpent(ServiceError):
    """The link was used, was revoked or has expired; the message says which."""


class IdempotencyConflict(ServiceError):
    """The idempotency key was already used for another request."""

    def __init__(self) -> None:
        super().__init__("this idempotency key was used for another request: use a new key")


class Refused(ServiceError):
    """The input is invalid; `faults` say what was expected, with paths relative to the input."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in self.faults))


def empty_log(services: Services) -> None:
    """Remove deleted data from the database's write-ahead log; if a reader blocks this, a later call will do it."""
    try:
        emptied = truncate_log(services.engine)
    except AWAY:
        emptied = False
    if not emptied:
        log.warning("the write-ahead log could not be emptied now: the next sweep removes erased data from it")


def found(thing: Thing | None, what: str, id: str) -> Thing:
    """Return the value that was looked up. Raises NotFound if it is None."""
    if thing is None:
        raise NotFound(what, id)
    return thing


class Conflict(Refused):
    """The input conflicts with the stored data. `code` names the conflict, `newest` any entry to go on from."""

    def __init__(self, code: str, faults: Iterable[Fault], newest: str | None = None) -> None:
        self.code, self.newest = code, newest
        super().__init__(faults)


def conflict(code: str, expected: str, *path: str | int, value: Any = None, newest: str | None = None) -> Conflict:
    """Return a conflict with one fault."""
    return Conflict(code, [Fault(path, value, expected)], newest)


def refuse(expected: str, *path: str | int, value: Any = None) -> Refused:
    """Return a refusal with one fault."""
    return Refused([Fault(path, value, expected)])


def below(*path: str | int, fault: Fault) -> Fault:
    """Return a fault whose path begins with this one."""
    return replace(fault, path=(*path, *fault.path))


def standing(entries: Iterable[SomeEntry], *, as_seen: bool = False) -> list[SomeEntry]:
    """Return the valid entries: the newest in each chain of corrections, in the position of the first.

    With `as_seen`, sort them by `observed_at`, or by the time they were added if it is missing. A correction without
    its own time inherits the time of the entry it corrects. If no entry has `observed_at`, the order stays the same.
    """
    first: dict[str, str] = {}
    newest: dict[str, SomeEntry] = {}
    seen_at: dict[str, datetime] = {}
    told = False
    for entry in entries:
        root = first.get(entry.supersedes, entry.id) if entry.supersedes else entry.id
        first[entry.id] = root
        newest[root] = entry
        seen_at[root] = entry.observed_at or seen_at.get(root) or entry.recorded_at
        told = told or entry.observed_at is not None
    roots = [root for root, entry in newest.items() if entry.body is not None]
    if as_seen and told:
        roots.sort(key=seen_at.__getitem__)
    return [newest[root] for root in roots]


def checked_label(label: str) -> str:
    """Trim a nickname, code or name and return it. Raises Refused unless it has 1 to 100 printable characters."""
    trimmed = label.strip()
    if not (1 <= len(trimmed) <= MAX_LABEL and trimmed.isprintable()):
        raise refuse(f"a string of 1 to {MAX_LABEL} characters", "label", value=label)
    return trimmed


def checked_external_id(text: str | None) -> str | None:
    """Return a club's own id, if any. Raises Refused if it cannot be used in a URL."""
    if text is None:
        return None
    fits = 1 <= len(text) <= MAX_EXTERNAL_ID and text.isprintable() and text == text.strip() and "/" not in text
    if not fits or text in (".", ".."):
        raise refuse(EXTERNAL_ID, "external_id", value=text)
    return text


def external_id_taken(*path: str, value: Any) -> Conflict:
    """Return the conflict for an external id that is taken."""
    return conflict("external-id-taken", "an external id that is not in use in this club", *path, value=value)


def checked_day(moment: datetime, name: str, now: datetime) -> datetime:
    """Return a time with its zone, from 1900 to two years ahead, because retention depends on it. Raises Refused."""
    if not MIN_TIME <= checked_moment(moment, name) <= now + MAX_AHEAD:
        raise refuse("a time from 1900 to two years from now", name, value=moment.isoformat())
    return moment


def checked_moment(moment: datetime, name: str) -> datetime:
    """Return a time with its zone. Raises Refused if the zone is missing."""
    if moment.tzinfo is None:
        raise refuse("a time with its time zone", name, value=moment.isoformat())
    return moment


@dataclass(frozen=True, slots=True)
class IdempotentRequest:
    """An idempotency key with its request."""

    key: str
    request: bytes = field(repr=False)

    @classmethod
    def of(cls, key: str, request: Any) -> Self:
        """Return the key with a JSON request. Raises Refused unless the key is 1 to 255 printable ASCII characters."""
        if not (1 <= len(key) <= MAX_KEY and key.isascii() and key.isprintable()):
            raise refuse(f"an idempotency key of 1 to {MAX_KEY} printable characters", value=key)
        return cls(key, json.dumps(request, sort_keys=True, separators=(",", ":")).encode())

    def hashed(self, salt: str | None = None) -> str:
        """Return the stored form of the request: a salt and the salted hash, so that hashes cannot be compared."""
        salt = salt or secrets.token_hex(SALT_BYTES)
        return salt + hashlib.blake2b(self.request, key=salt.encode(), digest_size=HASH_BYTES).hexdigest()

    def is_that_of(self, kept: str) -> bool:
        """Return whether this request matches the stored hash; a deleted hash counts as a match."""
        return not kept or hmac.compare_digest(self.hashed(kept[: 2 * SALT_BYTES]), kept)


Once = IdempotentRequest | None  # a request that adds something, if it has a key


def done_once(work: UnitOfWork, once: Once, now: datetime, do: Callable[[], Done]) -> Done:
    """Return the result of `do`, or the stored result if the same request came before. Results are ids and receipts.

    A refusal is not stored, so a corrected request can use the same key. Raises IdempotencyConflict, NotFound.
    """
    if once is None:
        return do()
    try:
        before = work.answers.claim(once.key, once.hashed(), now)
    except ConstraintViolation:
        raise NotFound("club", work.club_id) from None
    if before is None:
        answer = do()
        work.answers.update(once.key, {"answer": dict(answer)})
        return answer
    if not once.is_that_of(before.request_hash):
        raise IdempotencyConflict
    return before.answer or {}
