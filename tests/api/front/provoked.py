"""One way to meet each type of problem that the application itself tells of."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import Flask
from werkzeug.test import TestResponse

Ask = Callable[["Service"], TestResponse]
FAR = {"REMOTE_ADDR": "203.0.113.7"}
SEEN = {"what": "warmup.low_forehand", "rating": 9}
RATED = {"volley": 3}
OWN = {"side": "own", "label": "Larch"}


@dataclass(frozen=True)
class Service:
    """An application with a match that is under way; `variant` gives one in which something is amiss."""

    app: Flask
    match: str
    player: str
    observer: Callable[[], str]  # makes a token with the scope observe alone, the first here
    variant: Callable[[str], Flask]

    def ask(self, method: str, address: str, app: Flask | None = None, **more: Any) -> TestResponse:
        return (app or self.app).test_client().open(address, method=method, **more)


def sent(request: str) -> Ask:
    """Sends a request as it is told: its address, its headers, and its body; … stands for the id of the noun."""
    head, _, body = request.partition("\n\n")
    line, *headers = head.split("\n")
    method, address = line.split(" ")
    named = dict(header.split(": ", 1) for header in headers)
    form = {"data": body, "content_type": "application/json"} if body else {}

    def ask(service: Service) -> TestResponse:
        filled = address.replace("matches/…", f"matches/{service.match}")
        return service.ask(method, filled.replace("players/…", f"players/{service.player}"), headers=named, **form)

    return ask


def twice(service: Service, method: str, address: str, app: Flask | None = None, **more: Any) -> TestResponse:
    service.ask(method, address, app, **more)
    return service.ask(method, address, app, **more)


def again(service: Service) -> TestResponse:
    key = {"Idempotency-Key": "bench-7"}
    service.ask("POST", "/v1/players", json=OWN, headers=key)
    return service.ask("POST", "/v1/players", json={**OWN, "label": "Elm"}, headers=key)


def opened_twice(service: Service) -> TestResponse:
    code = service.ask("POST", f"/v1/matches/{service.match}/court-links").json["url"].rpartition("/")[2]
    return twice(service, "POST", "/v1/court-tokens", json={"code": code})


def post(body: Any, content_type: str = "application/json") -> Ask:
    return lambda service: service.ask("POST", "/v1/suggestions", data=body, content_type=content_type)


SENT = {  # told as they are sent
    "invalid-json": 'POST /v1/suggestions\n\n{"moment": "set-break", "moment": "set-break"}',
    "not-permitted-now": "GET /v1/matches/…/pictures/win-curve",
    "not-found": "GET /v1/nothing",
    "method-not-allowed": "GET /v1/suggestions",
    "not-acceptable": "GET /v1/rulebook\nAccept: text/html",
    "match-not-ended": "GET /v1/matches/…/debrief",
    "changed-meanwhile": 'PATCH /v1/players/…\nIf-Match: "7"\n\n{"label": "Elm"}',
    "invalid-situation": f"POST /v1/suggestions\n\n{json.dumps({'moment': 'set-break', 'observations': [SEEN]})}",
    "invalid-body": 'POST /v1/players\n\n{"side": "own"}',
    "invalid-header": f"POST /v1/players\nIdempotency-Key: \n\n{json.dumps(OWN)}",
    "invalid-query": "GET /v1/players?page_size=0",
    "if-match-needed": 'PATCH /v1/players/…\n\n{"label": "Elm"}',
}
PROVOKED: dict[str, tuple[str, Ask]] = {
    **{name: (request, sent(request)) for name, request in SENT.items()},
    "token-needed": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", environ_base=FAR)),
    "insufficient-scope": (
        "GET /v1/players\nAuthorization: Bearer tac_…",
        lambda s: s.ask("GET", "/v1/players", headers={"Authorization": f"Bearer {s.observer()}"}),
    ),
    "state-conflict": (
        'POST /v1/players\n\n{"side": "own", "label": "Larch"}',
        lambda s: twice(s, "POST", "/v1/players", json=OWN),
    ),
    "link-spent": ('POST /v1/court-tokens\n\n{"code": "link_…"}', opened_twice),
    "body-too-large": ("POST /v1/suggestions\nContent-Length: 1048577", post(b" " * 1_048_577)),
    "unsupported-media-type": ("POST /v1/suggestions\nContent-Type: text/plain", post("{}", "text/plain")),
    "too-many-matches": (
        "POST /v1/suggestions, with more observations of one kind than the rules can be matched against",
        lambda s: s.ask("POST", "/v1/suggestions", s.variant("overrun"), json={"moment": "set-break", "own": RATED}),
    ),
    "idempotency-key-reused": ('POST /v1/players\nIdempotency-Key: bench-7\n\n{"side": "own", "label": "Elm"}', again),
    "too-many-requests": (
        "GET /v1/rulebook",
        lambda s: twice(s, "GET", "/v1/rulebook", s.variant("limited"), environ_base=FAR),
    ),
    "internal-error": ("GET /v1/rulebook", lambda s: s.ask("GET", "/fails")),
    "database-away": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", s.variant("database_away"))),
    "not-ready": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", s.variant("without_database"))),
}
