"""A request that is repeated with the same key is done once."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Self, cast

from tacticapi.service.codec import encode
from tacticapi.service.errors import IdempotencyConflict, NotFound, refuse
from tacticapi.store import Unfit, UnitOfWork

LONGEST_KEY = 255
Done = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Once:
    """An idempotency key and the SHA-256 of the request that came with it."""

    key: str
    request_hash: str

    @classmethod
    def of(cls, key: str, request: Any) -> Self:
        """The key with the hash of a request: anything JSON can hold, such as [method, path, body].

        Raises Refused for a key that is empty, longer than 255 characters, or not of printable ASCII.
        """
        if not (1 <= len(key) <= LONGEST_KEY and key.isascii() and key.isprintable()):
            raise refuse(f"an idempotency key of 1 to {LONGEST_KEY} printable characters", value=key)
        canonical = json.dumps(request, sort_keys=True, separators=(",", ":"))
        return cls(key, hashlib.sha256(canonical.encode()).hexdigest())


def done(made: Any) -> Done:
    """A frozen dataclass as it is kept under a key."""
    return cast(Done, encode(made))


def done_once(work: UnitOfWork, once: Once | None, now: datetime, do: Callable[[], Done]) -> Done:
    """What `do` made, or what it made when the same request came before.

    `do` names what it made in JSON terms, ids and receipts only: what was posted is not kept a second time. What it
    refuses is not kept, so that a mended request may come with the same key. Raises IdempotencyConflict; NotFound for
    a club that is gone.
    """
    if once is None:
        return do()
    try:
        before = work.answers.claim(once.key, once.request_hash, now)
    except Unfit:
        raise NotFound("club", work.club_id) from None
    if before is None:
        answer = do()
        work.answers.settle(once.key, answer)
        return answer
    if before.request_hash != once.request_hash:
        raise IdempotencyConflict(once.key)
    return before.answer or {}
