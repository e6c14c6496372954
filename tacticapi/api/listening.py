"""Connections are taken up when their request has begun.

A browser opens some connections for later and sends nothing on them. A worker that answers one request at a time would
wait on such a one while others knock, so the kernel keeps them until something comes.
"""

import socket
from typing import Any

LONGEST_WAIT_S = 30  # browsers give up an unused connection after about ten seconds (from memory)


def take_begun_requests_only(listener: Any) -> None:
    """Let the kernel keep silent connections of a TCP listener, where it can (Linux); elsewhere nothing changes."""
    option = getattr(socket, "TCP_DEFER_ACCEPT", None)
    if option is not None and listener.family in (socket.AF_INET, socket.AF_INET6):
        listener.setsockopt(socket.IPPROTO_TCP, option, LONGEST_WAIT_S)
