"""The header Idempotency-Key: what is posted again with its key is done once and answered as before."""

from typing import Any

from flask import request

from tacticapi.api.problems import INVALID_HEADER, refuse
from tacticapi.club import Once, Refused

HEADER = "Idempotency-Key"


def once(body: Any) -> Once | None:
    """The key of this request with the hash of method, address and body; None where no key was sent."""
    key = request.headers.get(HEADER)
    if key is None:
        return None
    try:
        return Once.of(key, [request.method, request.path, body])
    except Refused as refused:
        faults = [type(fault)((HEADER,), fault.value, fault.expected) for fault in refused.faults]
        refuse(INVALID_HEADER, faults=faults)
