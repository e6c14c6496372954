"""Where a request comes from: this machine, or an address beyond it."""

from ipaddress import IPv6Address, ip_address, ip_network
from urllib.parse import urlsplit

from flask import request

OF_PROXIES = ("Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP")
NETWORK_BITS = 64  # of IPv6, where one line has so wide a network to itself


def from_this_machine() -> bool:
    """Whether the request comes from this machine, names it, and came through no proxy.

    A page of another site that leads its own name to this machine, and a proxy that lets strangers in, are left out.
    """
    if any(name in request.headers for name in OF_PROXIES):
        return False
    try:
        named = urlsplit(f"//{request.host}").hostname or ""
    except ValueError:
        return False
    return _is_loopback(request.remote_addr or "") and (named == "localhost" or _is_loopback(named))


def line_of_caller() -> str:
    """The address that the request comes from, as a whole network where it is IPv6."""
    sent = request.remote_addr or "unknown"
    try:
        address = ip_address(sent)
    except ValueError:
        return sent
    return str(ip_network((address, NETWORK_BITS), strict=False)) if isinstance(address, IPv6Address) else sent


def _is_loopback(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False
