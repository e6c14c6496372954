"""What every use case needs: the store, the rules and the time; refusals, which change nothing; requests done once."""

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

if TYPE_CHECKING:  # numpy and scipy come with it, and most use cases need neither
    from tacticapi.advice import Adviser

# changed or deleted at once, so that no other writer waits for long: long rows, and entries
ROWS_IN_A_PIECE, ENTRIES_IN_A_PIECE = 50, 500
SALT_BYTES, HASH_BYTES = 16, 32
MAX_LABEL, MAX_KEY, MAX_EXTERNAL_ID = 100, 255, 64
EXTERNAL_ID = f"a text of 1 to {MAX_EXTERNAL_ID} printable characters without /"
MIN_TIME, MAX_AHEAD = datetime(1900, 1, 1, tzinfo=UTC), timedelta(days=731)
Done = Mapping[str, Any]
Thing = TypeVar("Thing")
SomeEntry = TypeVar("SomeEntry", bound=Entry)


# what keeps a database from being written to, while it may still be read
UNWRITTEN: tuple[type[Exception], ...] = (*AWAY, SchemaMismatch)
log = logging.getLogger(__name__)


def utc_now() -> datetime:
    """Return the time, aware, in UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Services:
    """One a process. `now` gives an aware time."""

    engine: Engine
    adviser: "Adviser"
    now: Callable[[], datetime] = utc_now

    @property
    def rulebook(self) -> Rulebook:
        """Return the rules that this process answers by."""
        return self.adviser.rulebook

    def work(self, club_id: str) -> UnitOfWork:
        """Return a unit of work that changes something."""
        return UnitOfWork(self.engine, club_id)

    def reading(self, club_id: str) -> UnitOfWork:
        """Return a unit of work that only reads, and sees one state throughout."""
        return UnitOfWork(self.engine, club_id, read_only=True)


class ServiceError(Exception):
    """Any refusal of a use case."""


class NotFound(ServiceError):
    """This club has nothing of this id. What belongs to another club is not found either."""

    def __init__(self, what: str, id: str) -> None:
        super().__init__(f"no {what} {id}")


class NotPermitted(ServiceError):
    """Only safety may be shown at this moment; the text says what to do for safety, and why."""


class VersionConflict(ServiceError):
    """It was changed since it was read; `version` is the one that it has now."""

    def __init__(self, what: str, version: int) -> None:
        self.version = version
        super().__init__(f"the {what} has version {version} now: read it again before changing it")


class BeingFilled(ServiceError):
    """The club is being read from an export, or that broke off; nothing else is done for it meanwhile."""

    def __init__(self, club_id: str) -> None:
        super().__init__("an import into this club is under way; if it broke off, send the import again")


class LinkSpent(ServiceError):
    """The link has been opened or closed, or its time is over; the text says which."""


class IdempotencyConflict(ServiceError):
    """The idempotency key came before with another request."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__("this idempotency key was used for another request: take a new key")


class Refused(ServiceError):
    """What was given cannot be done; `faults` say what was expected, paths below what was given."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in self.faults))


def empty_log(services: Services) -> None:
    """Leave nothing in the database's log of what has gone for good; a later call does it if a reader is on it now."""
    try:
        emptied = truncate_log(services.engine)
    except AWAY:
        emptied = False
    if not emptied:
        log.warning("the write-ahead log could not be emptied now: what was erased leaves it at the next sweep")


def found(thing: Thing | None, what: str, id: str) -> Thing:
    """Return what was looked up. Raises NotFound for None."""
    if thing is None:
        raise NotFound(what, id)
    return thing


class Conflict(Refused):
    """What was given does not fit what is kept now. `code` names how, and `newest` the entry to go on from, if any."""

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
    """Return the valid entries, each chain of corrections by its newest entry in the place of its first.

    With `as_seen`, they come in the order in which they were seen: by `observed_at`, else by when they were added. A
    correction without its own time keeps that of what it corrects. Without any `observed_at` the order stays.
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
    """Return a nickname, code or name, trimmed. Raises Refused unless it has 1 to 100 printable characters."""
    trimmed = label.strip()
    if not (1 <= len(trimmed) <= MAX_LABEL and trimmed.isprintable()):
        raise refuse(f"a text of 1 to {MAX_LABEL} characters", "label", value=label)
    return trimmed


def checked_external_id(text: str | None) -> str | None:
    """Return a club's own id, if any, which must fit into an address. Raises Refused."""
    if text is None:
        return None
    fits = 1 <= len(text) <= MAX_EXTERNAL_ID and text.isprintable() and text == text.strip() and "/" not in text
    if not fits or text in (".", ".."):
        raise refuse(EXTERNAL_ID, "external_id", value=text)
    return text


def external_id_taken(*path: str, value: Any) -> Conflict:
    """Return the conflict of a club's own id that something else has."""
    return conflict("external-id-taken", "an external id that nothing else of this club has", *path, value=value)


def checked_day(moment: datetime, name: str, now: datetime) -> datetime:
    """Return a time with its zone, from 1900 to two years from now: what is kept is swept by it. Raises Refused."""
    if not MIN_TIME <= checked_moment(moment, name) <= now + MAX_AHEAD:
        raise refuse("a time from 1900 to two years from now", name, value=moment.isoformat())
    return moment


def checked_moment(moment: datetime, name: str) -> datetime:
    """Return a time with its zone. Raises Refused for one without."""
    if moment.tzinfo is None:
        raise refuse("a time with its time zone", name, value=moment.isoformat())
    return moment


@dataclass(frozen=True, slots=True)
class IdempotentRequest:
    """An idempotency key and the request that came with it."""

    key: str
    request: bytes = field(repr=False)

    @classmethod
    def of(cls, key: str, request: Any) -> Self:
        """Return the key with a JSON request. Raises Refused unless it is 1 to 255 printable ASCII."""
        if not (1 <= len(key) <= MAX_KEY and key.isascii() and key.isprintable()):
            raise refuse(f"an idempotency key of 1 to {MAX_KEY} printable characters", value=key)
        return cls(key, json.dumps(request, sort_keys=True, separators=(",", ":")).encode())

    def hashed(self, salt: str | None = None) -> str:
        """Return what is kept of the request: a salt and the hash with it, so that no two hashes can be compared."""
        salt = salt or secrets.token_hex(SALT_BYTES)
        return salt + hashlib.blake2b(self.request, key=salt.encode(), digest_size=HASH_BYTES).hexdigest()

    def is_that_of(self, kept: str) -> bool:
        """Return whether this is the request of which a hash was kept; one that was forgotten is taken to be."""
        return not kept or hmac.compare_digest(self.hashed(kept[: 2 * SALT_BYTES]), kept)


def done_once(work: UnitOfWork, once: IdempotentRequest | None, now: datetime, do: Callable[[], Done]) -> Done:
    """Return what `do` made, or what it made when the same request came before: ids and receipts only.

    A refusal is not stored, so a mended request may come with the same key. Raises IdempotencyConflict, NotFound.
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
        raise IdempotencyConflict(once.key)
    return before.answer or {}
