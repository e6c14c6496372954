"""One way to meet each type of problem that the application itself tells of."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import Flask
from werkzeug.test import TestResponse

Ask = Callable[["Service"], TestResponse]
FAR = {"REMOTE_ADDR": "203.0.113.7"}
SEEN = {"what": "warmup.low_forehand", "rating": 1}
TWO_NAMES = '{"moment": "set-break", "moment": "set-break"}'
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


def with_headers(method: str, address: str, body: Any = None, **headers: str) -> Ask:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return lambda service: service.ask(
        method, address.format(match=service.match, player=service.player), json=body, headers=named
    )


def twice(service: Service) -> TestResponse:
    key = {"Idempotency-Key": "bench-7"}
    service.ask("POST", "/v1/players", json=OWN, headers=key)
    return service.ask("POST", "/v1/players", json={**OWN, "label": "Elm"}, headers=key)


def label_taken(service: Service) -> TestResponse:
    service.ask("POST", "/v1/players", json=OWN)
    return service.ask("POST", "/v1/players", json=OWN)


def too_often(service: Service) -> TestResponse:
    limited = service.variant("limited")
    service.ask("GET", "/v1/rulebook", limited, environ_base=FAR)
    return service.ask("GET", "/v1/rulebook", limited, environ_base=FAR)


def opened_twice(service: Service) -> TestResponse:
    code = service.ask("POST", f"/v1/matches/{service.match}/court-links").json["url"].rpartition("/")[2]
    service.ask("POST", "/v1/court-tokens", json={"code": code})
    return service.ask("POST", "/v1/court-tokens", json={"code": code})


def post(body: Any, content_type: str = "application/json") -> Ask:
    return lambda service: service.ask("POST", "/v1/suggestions", data=body, content_type=content_type)


PROVOKED: dict[str, tuple[str, Ask]] = {
    "invalid-json": (f"POST /v1/suggestions\n\n{TWO_NAMES}", post(TWO_NAMES)),
    "token-needed": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", environ_base=FAR)),
    "insufficient-scope": (
        "GET /v1/players\nAuthorization: Bearer tac_…",
        lambda s: s.ask("GET", "/v1/players", headers={"Authorization": f"Bearer {s.observer()}"}),
    ),
    "not-permitted-now": (
        "GET /v1/matches/…/pictures/win-curve",
        with_headers("GET", "/v1/matches/{match}/pictures/win-curve"),
    ),
    "not-found": ("GET /v1/nothing", with_headers("GET", "/v1/nothing")),
    "method-not-allowed": ("GET /v1/suggestions", with_headers("GET", "/v1/suggestions")),
    "not-acceptable": ("GET /v1/rulebook\nAccept: text/html", with_headers("GET", "/v1/rulebook", Accept="text/html")),
    "match-not-ended": ("GET /v1/matches/…/debrief", with_headers("GET", "/v1/matches/{match}/debrief")),
    "state-conflict": ('POST /v1/players\n\n{"side": "own", "label": "Larch"}', label_taken),
    "link-spent": ('POST /v1/court-tokens\n\n{"code": "link_…"}', opened_twice),
    "changed-meanwhile": (
        'PATCH /v1/players/…\nIf-Match: "7"\n\n{"label": "Elm"}',
        with_headers("PATCH", "/v1/players/{player}", {"label": "Elm"}, If_Match='"7"'),
    ),
    "body-too-large": ("POST /v1/suggestions\nContent-Length: 1048577", post(b" " * 1_048_577)),
    "unsupported-media-type": ("POST /v1/suggestions\nContent-Type: text/plain", post("{}", "text/plain")),
    "invalid-situation": (
        f"POST /v1/suggestions\n\n{json.dumps({'moment': 'set-break', 'observations': [{**SEEN, 'rating': 9}]})}",
        with_headers("POST", "/v1/suggestions", {"moment": "set-break", "observations": [{**SEEN, "rating": 9}]}),
    ),
    "invalid-body": ('POST /v1/players\n\n{"side": "own"}', with_headers("POST", "/v1/players", {"side": "own"})),
    "invalid-header": (
        f"POST /v1/players\nIdempotency-Key: \n\n{json.dumps(OWN)}",
        with_headers("POST", "/v1/players", OWN, Idempotency_Key=""),
    ),
    "invalid-query": ("GET /v1/players?page_size=0", with_headers("GET", "/v1/players?page_size=0")),
    "too-many-matches": (
        "POST /v1/suggestions, with more observations of one kind than the rules can be matched against",
        lambda s: s.ask(
            "POST", "/v1/suggestions", s.variant("overrun"), json={"moment": "set-break", "own": {"volley": 3}}
        ),
    ),
    "idempotency-key-reused": ('POST /v1/players\nIdempotency-Key: bench-7\n\n{"side": "own", "label": "Elm"}', twice),
    "if-match-needed": (
        'PATCH /v1/players/…\n\n{"label": "Elm"}',
        with_headers("PATCH", "/v1/players/{player}", {"label": "Elm"}),
    ),
    "too-many-requests": ("GET /v1/rulebook", too_often),
    "internal-error": ("GET /v1/rulebook", with_headers("GET", "/fails")),
    "database-away": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", s.variant("database_away"))),
    "not-ready": ("GET /v1/players", lambda s: s.ask("GET", "/v1/players", s.variant("without_database"))),
}
