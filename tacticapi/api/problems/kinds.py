"""Every type of problem that the service tells of, in one list: its URI, status, title, and what to do about it.

The URI is a relative reference, so that it leads to this service's own page on it (/problems/…). docs/problems.md has a
section for each.
"""

from dataclasses import dataclass, replace
from http import HTTPStatus

PATH = "/problems/"


@dataclass(frozen=True, slots=True)
class Problem:
    """A type of problem. `title` says what is wrong, `mend` what the client does about it."""

    name: str
    status: int
    title: str
    mend: str

    @property
    def type(self) -> str:
        """The URI reference that stands for it."""
        return PATH + self.name


AS_LISTED = "Mend what `errors` lists and send it again."
BROKEN_REQUEST = Problem(
    "broken-request",
    400,
    "The request is not readable HTTP",
    "Send well-formed HTTP/1.1; `detail` says what broke.",
)
INVALID_JSON = Problem("invalid-json", 400, "The body is not valid, unambiguous JSON", AS_LISTED)
NO_TOKEN = Problem(
    "token-needed",
    401,
    "A valid bearer token is needed",
    "Send `Authorization: Bearer …`. A token that was sent is unknown, expired or revoked: ask the club for another.",
)
NO_SCOPE = Problem(
    "insufficient-scope",
    403,
    "The token lacks the scope for this",
    "Use a token that has the scope which `WWW-Authenticate` names.",
)
NOT_PERMITTED_NOW = Problem(
    "not-permitted-now",
    403,
    "Only safety may be shown at this moment",
    "Do what `detail` says for safety. If it names the event's rules, ask for a moment at which `context.coaching` and "
    "`context.device` of the match permit it, or after the match.",
)
NOT_FOUND = Problem(
    "not-found",
    404,
    "There is nothing at this address",
    "Check the address. What was erased or belongs to another club is not found either.",
)
METHOD_NOT_ALLOWED = Problem(
    "method-not-allowed", 405, "This address does not take this method", "Use a method that `Allow` lists."
)
NOT_ACCEPTABLE = Problem(
    "not-acceptable",
    406,
    "This address cannot answer in an accepted media type",
    "Accept one of those that `detail` lists.",
)
NOT_ENDED = Problem(
    "match-not-ended", 409, "This is available once the match has ended", "End the match, then ask again."
)
CHANGED = Problem(
    "changed-meanwhile",
    412,
    "It has changed since it was read",
    "Read it again, decide whether the change still stands, and send it with the new ETag.",
)
TOO_LARGE = Problem(
    "body-too-large", 413, "The body is too large", "Send fewer things at once; `detail` names the limit."
)
ADDRESS_TOO_LONG = Problem(
    "address-too-long", 414, "The address is too long", "Send a request line of 4,094 bytes at most."
)
MEDIA_TYPE_REFUSED = Problem(
    "unsupported-media-type",
    415,
    "The body must be application/json in UTF-8",
    "Send `Content-Type: application/json`, in UTF-8 and not compressed.",
)
EXPECTATION = Problem("expectation-failed", 417, "The service does not support this expectation", "Leave out `Expect`.")
INVALID_SITUATION = Problem("invalid-situation", 422, "The situation is not valid", AS_LISTED)
INVALID_BODY = Problem("invalid-body", 422, "The body is not valid, or does not fit what is kept", AS_LISTED)
INVALID_HEADER = Problem("invalid-header", 422, "A header is not valid", AS_LISTED)
INVALID_QUERY = Problem("invalid-query", 422, "The query is not valid", AS_LISTED)
TOO_MANY_MATCHES = Problem(
    "too-many-matches",
    422,
    "The situation matches the rules in too many ways",
    "Post fewer observations of one kind: counts say more than single sightings.",
)
KEY_REUSED = Problem(
    "idempotency-key-reused",
    422,
    "The idempotency key was used for another request",
    "Make a new key for every new request. Use it again only to repeat that request.",
)
NO_IF_MATCH = Problem(
    "if-match-needed",
    428,
    "A change must name, in If-Match, the version that was read",
    "Send the ETag that came with it.",
)
TOO_MANY_REQUESTS = Problem(
    "too-many-requests",
    429,
    "One caller sent too many requests",
    "Wait as many seconds as `Retry-After` says, then send it again.",
)
HEADERS_TOO_LARGE = Problem(
    "headers-too-large", 431, "The headers are too large", "Send 100 header fields of 8,190 bytes each at most."
)
INTERNAL = Problem(
    "internal-error",
    500,
    "The service failed; the fault is ours",
    "Send it again once, with the same Idempotency-Key. If it fails again, tell the operator the X-Request-ID.",
)
NOT_DONE = Problem(
    "not-implemented", 501, "The service does not support this request", "Send the body with a length or in chunks."
)
DATABASE_AWAY = Problem(
    "database-away",
    503,
    "The database cannot be used now; ask again later",
    "Wait as many seconds as `Retry-After` says, then send it again with the same Idempotency-Key.",
)
WORKER_LOST = Problem(
    "worker-lost",
    503,
    "The process working on this request stopped before it answered",
    "Send it again with the same Idempotency-Key: nothing is then done twice.",
)
NOT_READY = Problem(
    "not-ready",
    503,
    "The service is not ready",
    "Tell the operator what `detail` says. GET /readyz answers 200 once it is ready.",
)

PROBLEMS = (
    BROKEN_REQUEST, INVALID_JSON, NO_TOKEN, NO_SCOPE, NOT_PERMITTED_NOW, NOT_FOUND, METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE, NOT_ENDED, CHANGED, TOO_LARGE, ADDRESS_TOO_LONG, MEDIA_TYPE_REFUSED, EXPECTATION,
    INVALID_SITUATION, INVALID_BODY, INVALID_HEADER, INVALID_QUERY, TOO_MANY_MATCHES, KEY_REUSED, NO_IF_MATCH,
    TOO_MANY_REQUESTS, HEADERS_TOO_LARGE, INTERNAL, NOT_DONE, DATABASE_AWAY, WORKER_LOST, NOT_READY,
)  # fmt: skip
_NAMED_ONLY = (INVALID_JSON, NOT_PERMITTED_NOW, NOT_ENDED, DATABASE_AWAY, WORKER_LOST)
_BY_STATUS = {p.status: p for p in PROBLEMS if p not in _NAMED_ONLY and p.status != HTTPStatus.UNPROCESSABLE_ENTITY}


def problem_of(status: int) -> Problem:
    """The problem that a bare status stands for; one that nothing here answers with is told as its class of status."""
    other = BROKEN_REQUEST if status < HTTPStatus.INTERNAL_SERVER_ERROR else INTERNAL
    return _BY_STATUS.get(status) or replace(other, status=status)
