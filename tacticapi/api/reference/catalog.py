"""The API catalogue (RFC 9727): where the contract, the reference and the health of this service stand (RFC 9264)."""

from typing import Any

ADDRESS = "/.well-known/api-catalog"
PROFILE = "https://www.rfc-editor.org/info/rfc9727"
LINKSET = "application/linkset+json"
OPENAPI = "application/vnd.oai.openapi+json;version=3.1"


def catalog(root: str) -> dict[str, Any]:
    """The linkset of the service whose address is `root`, without a slash at its end."""
    of_the_api = {
        "anchor": f"{root}/v1",
        "service-desc": [{"href": f"{root}/openapi.json", "type": OPENAPI}],
        "service-doc": [{"href": f"{root}/docs", "type": "text/html"}],
        "status": [{"href": f"{root}/readyz", "type": "application/json"}],
    }
    return {"linkset": [{"anchor": f"{root}{ADDRESS}", "item": [{"href": f"{root}/v1"}]}, of_the_api]}
