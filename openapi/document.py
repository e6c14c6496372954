"""Write the published contract as YAML: the description with recorded requests and responses."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from http import HTTPStatus
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, cast

import yaml
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.contract import EXTENSION, Contract
from tacticapi.api.http.blueprint import HTML, JSON, JSON_LINES, MARKDOWN, SVG, TEXT
from tacticapi.api.http.deployment import EXTENSION as DEPLOYMENT
from tacticapi.api.http.problems import MEDIA_TYPE, PROBLEMS, problem_body, problem_of
from tacticapi.club import clubs, upgrade
from tacticapi.domain.situation import Moment
from tacticapi.rulebook.files import our_rules
from tacticapi.rulebook.load import load
from tacticapi.seeds import demo_folder, demo_situation

EXAMPLE_DIGITS = 4


@dataclass(frozen=True, slots=True)
class Example:
    """A question to post to a calculation."""

    calculation: str
    name: str
    summary: str
    body: Mapping[str, Any]

    @property
    def path(self) -> str:
        """Return the path to post it to."""
        return f"/v1/calculations/{self.calculation}"


def examples() -> list[Example]:
    """Return the demo's questions."""
    questions = json.loads((demo_folder() / "calculations.json").read_text(encoding="utf-8"))
    return [Example(**question) for question in questions]


def recorded_answer(example: Example, client: FlaskClient) -> dict[str, Any]:
    """Return the response to an example, rounded because the last digits differ between machines."""
    shortened: dict[str, Any] = _shortened(client.post(example.path, json=example.body).get_json())
    return shortened


def _shortened(node: Any) -> Any:
    if isinstance(node, dict):
        return {name: _shortened(below) for name, below in node.items()}
    if isinstance(node, list):
        return [_shortened(below) for below in node]
    return round(node, EXAMPLE_DIGITS) + 0.0 if isinstance(node, float) else node


EXAMPLE_ID = "00000000-0000-4000-8000-000000000000"
REGENERATE = "tacticapi openapi --write"
_WIDTH = 120
_SHORT = 170


def document(app: Flask, adviser: Adviser) -> dict[str, Any]:
    """Return the whole contract, with requests and responses recorded from an invented match."""
    contract = cast(Contract, app.extensions[EXTENSION])
    made = contract.described()
    for problem in PROBLEMS:
        response = made["components"]["responses"].get(HTTPStatus(problem.status).name)
        if response and MEDIA_TYPE in response.get("content", {}):
            response["content"][MEDIA_TYPE].setdefault("example", problem_body(problem, None, ()))
    default = made["components"]["responses"][contract.DEFAULT_ERROR_RESPONSE_NAME]
    default["content"][MEDIA_TYPE]["example"] = problem_body(problem_of(429), None, ())
    for example in examples():
        _record(made["paths"][example.path]["post"], example, recorded_answer(example, app.test_client()))
    with TemporaryDirectory() as folder:
        _Recorder(made, adviser, f"sqlite:///{folder}/example.db").play()
    plain: dict[str, Any] = json.loads(json.dumps(made))
    return plain


def _record(operation: dict[str, Any], example: Example, answer: dict[str, Any]) -> None:
    for holder, value in ((operation["requestBody"], example.body), (operation["responses"]["200"], answer)):
        holder["content"][JSON].setdefault("example", value)


_NOW = datetime(2026, 5, 2, 9, tzinfo=UTC)
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_SECRET = re.compile(r"((?:tac|link)_)[\w=-]{86,}")
_KEPT_LETTERS = 120


class _Recorder:
    """A recorder that plays an invented match on its own service and stores requests and responses in the contract."""

    def __init__(self, made: dict[str, Any], adviser: Adviser, url: str) -> None:
        upgrade(url)
        app = create_app({"ADVISER": adviser, "DATABASE_URL": url})
        deployed = app.extensions[DEPLOYMENT]
        self._services = deployed.services = replace(deployed.services, now=lambda: _NOW)
        self._client, self._made, self._ids = app.test_client(), made, dict[str, str]()
        self._become("Two Kilns")

    def _become(self, label: str) -> None:
        """Switch to a new club for the next requests."""
        club = clubs.create(self._services, label).club_id
        token = clubs.create_token(self._services, club, "phone", clubs.SCOPES).text
        self._client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {token}"

    def play(self) -> None:
        """Call every operation once, in the order of a match."""
        self._match()
        self._rulebook()
        self._service()

    def _match(self) -> None:
        situation = demo_situation(Moment.CHANGE_OF_ENDS)
        self.ask("POST", "/v1/suggestions", situation)
        self.ask("POST", "/v1/explanations", situation, query="tactic=keep-net-rusher-back")
        own = self.ask("POST", "/v1/players", {"side": "own", "label": "Larch", "facts": {"volley": 1}})["id"]
        for _ in range(2):  # created, then unchanged
            guest = {"side": "opponent", "label": "Sleet"}
            opponent = self.ask("PUT", "/v1/by-external-id/players/{external_id}", guest, external_id="guest-4")["id"]
        self.ask("GET", "/v1/players", query="page_size=1")
        self.ask("GET", "/v1/players/{player_id}", player_id=own)
        self.ask("PATCH", "/v1/players/{player_id}", {"facts": {"lob": 3}}, player_id=own)
        context = {"surface": "clay", "coaching": "permitted", "device": "coach"}
        body = {"own_id": own, "opponent_id": opponent, "context": context, "started_at": "2026-05-01T09:00:00Z"}
        for _ in range(2):
            other = self.ask("PUT", "/v1/by-external-id/matches/{external_id}", body, external_id="court-2-0900")["id"]
        self.ask("DELETE", "/v1/matches/{match_id}", match_id=other)
        match = self.ask("POST", "/v1/matches", body)["id"]
        at = {"match_id": match}
        self.ask("GET", "/v1/matches", query="page_size=1")
        self.ask("GET", "/v1/matches/{match_id}", **at)
        self.ask("PATCH", "/v1/matches/{match_id}", {"first_server": "own"}, **at)
        seen = {"what": "serve.followed_to_net", "count": 5, "of": 6}
        tries = {"tactic": "keep-net-rusher-back", "tried": 3, "won": 2}
        for noun, body in (("observations", seen), ("points", {"winner": "own"}), ("tries", tries)):
            entry = self.ask("POST", f"/v1/matches/{{match_id}}/{noun}", body, **at)["id"]
            self.ask("GET", f"/v1/matches/{{match_id}}/{noun}", query="page_size=1", **at)
            self.ask("GET", f"/v1/matches/{{match_id}}/{noun}/{{entry_id}}", entry_id=entry, **at)
        line = json.dumps({"what": "serve.ad_court_spots", "counts": {"wide": 6, "T": 1}})
        self.ask("POST", "/v1/matches/{match_id}/observations", line, **at)
        self.ask("GET", "/v1/matches/{match_id}/score", **at)
        advice = self.ask("GET", "/v1/matches/{match_id}/suggestions", query="moment=between-points", **at)
        given = {"advice_id": advice["advice_id"]}
        self.ask("GET", "/v1/advice/{advice_id}", **given)
        self.ask("GET", "/v1/matches/{match_id}/advice", **at)
        used = {"tactic": advice["suggestions"][0]["tactic"], "kind": "used"}
        self.ask("POST", "/v1/advice/{advice_id}/feedback", used, **given)
        self.ask("GET", "/v1/matches/{match_id}/feedback", **at)
        for picture in ("win-curve", "beliefs", "serve-spots"):
            self.ask("GET", f"/v1/matches/{{match_id}}/pictures/{picture}", accept=SVG, **at)
        self.ask("GET", "/v1/matches/{match_id}/card", accept=HTML, query="moment=change-of-ends", **at)
        link = self.ask("POST", "/v1/matches/{match_id}/court-links", **at)["url"]
        self.ask("POST", "/v1/court-tokens", {"code": link.rpartition("/")[2]})
        for step in ("end", "reopen", "end"):
            self.ask("POST", f"/v1/matches/{{match_id}}/{step}", **at)
        for accept in (JSON, MARKDOWN, HTML):
            self.ask("GET", "/v1/matches/{match_id}/debrief", accept=accept, **at)
        for accept in (JSON, MARKDOWN):
            self.ask("GET", "/v1/players/{player_id}/dossier", accept=accept, player_id=opponent)

    def _rulebook(self) -> None:
        self.ask("GET", "/v1/club")
        self.ask("PATCH", "/v1/club", {"keep_days": 400})
        for accept in (JSON, JSON_LINES):
            self.ask("GET", "/v1/club/export", accept=accept)
        self.ask("GET", "/v1/tokens", query="page_size=1")
        token = self.ask("POST", "/v1/tokens", {"label": "bench phone", "scopes": ["observe", "advise"]})["id"]
        self.ask("DELETE", "/v1/tokens/{token_id}", token_id=token)
        exported = self._client.get("/v1/club/export", headers={"Accept": JSON_LINES}).text
        self._become("Heron Weir")
        self.ask("POST", "/v1/club/import", exported)
        for name in ("vocabulary", "traits", "tactics", "sources"):
            self.ask("GET", f"/v1/{name}", query="page_size=1")
        self.ask("GET", "/v1/rulebook")
        self.ask("GET", "/v1/tactics/{tactic_id}", tactic_id="serve-to-hidden-wing")
        self.ask("GET", "/v1/tactics/{tactic_id}/picture", accept=SVG, tactic_id="serve-to-hidden-wing")
        for example in examples():
            if SVG in self._made["paths"][example.path]["post"]["responses"]["200"]["content"]:
                self.ask("POST", example.path, example.body, accept=SVG)

    def _service(self) -> None:
        for address in ("/problems", "/livez", "/readyz", "/.well-known/api-catalog"):
            self.ask("GET", address)
        self._note(self._made["paths"]["/openapi.json"]["get"]["responses"]["200"], None, {"openapi": "3.1.0"})
        self.ask("GET", "/problems/{name}", name="not-found")
        self.ask("GET", "/docs", accept=HTML)
        self.ask("GET", "/metrics", accept=TEXT)

    def ask(
        self, method: str, template: str, body: Any = None, *, accept: str | None = None, query: str = "", **at: str
    ) -> Any:
        """Send a request, record it with its response, and return the response's JSON."""
        sent: dict[str, Any] = {"headers": {"Accept": accept} if accept else {}}
        if method == "PATCH":
            sent["headers"]["If-Match"] = "*"
        if isinstance(body, str):
            sent |= {"data": body, "content_type": JSON_LINES}
        elif body is not None:
            sent["json"] = body
        answered = self._client.open(template.format(**at), method=method, query_string=query, **sent)
        assert answered.status_code < 300, (template, answered.text)
        operation = self._made["paths"][template][method.lower()]
        if template == "/v1/explanations":
            media = operation["requestBody"]["content"][JSON]
            media["examples"] = {"situation": {"$ref": "#/components/examples/situation"}}
        elif template == "/v1/suggestions":
            self._made["components"]["examples"] = {"situation": {"value": body}}
            media = operation["requestBody"]["content"][JSON]
            media["examples"] = {"situation": {"$ref": "#/components/examples/situation"}}
        elif body is not None:
            lines = isinstance(body, str)
            self._note(operation["requestBody"], JSON_LINES if lines else None, _cut(body) if lines else body)
        if answered.data and "content" in (response := operation["responses"][str(answered.status_code)]):
            told = json.loads(_hidden(answered.text)) if answered.is_json else answered.text
            self._note(response, None if answered.is_json else answered.mimetype, _cut(told))
        return answered.json if answered.is_json else None

    def _note(self, holder: dict[str, Any], media_type: str | None, value: Any) -> None:
        content = holder["content"]
        media = content[media_type or (JSON if JSON in content else next(iter(content)))]
        if not {"example", "examples"} & media.keys():
            media["example"] = json.loads(_UUID.sub(self._same_id, _hidden(json.dumps(value, ensure_ascii=False))))

    def _same_id(self, found: re.Match[str]) -> str:
        return self._ids.setdefault(found[0], f"{EXAMPLE_ID[:-4]}{len(self._ids) + 1:04}")


def _hidden(told: str) -> str:
    """Return text without secrets, which are new each time, and with the same engine on every version of Python."""
    return _SECRET.sub(r"\1…", told).replace('"engine":"evaluator"', '"engine":"durable-rules"')


def _cut(told: Any) -> Any:
    """Return a response shortened to a readable example of the same shape."""
    if isinstance(told, str):
        return told if len(told) <= _KEPT_LETTERS else f"{told[:_KEPT_LETTERS]}…"
    if isinstance(told, list):
        return [_cut(below) for below in told[: 1 if told and isinstance(told[0], dict) else 2]]
    if isinstance(told, dict):
        kept = {**told, "defaults": dict(list(told["defaults"].items())[:1])} if "defaults" in told else told
        return {name: _cut(below) for name, below in kept.items()}
    return _shortened(told)


def yaml_text(made: dict[str, Any]) -> str:
    """Return the document as YAML in block style, with short leaves on one or two lines."""
    head = f"# Generated by `{REGENERATE}`; a test keeps it equal to the application.\n"
    return head + yaml.dump(made, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=_WIDTH)


class _Dumper(yaml.SafeDumper):
    """A dumper that writes short lists and objects in flow style and long texts as blocks, without anchors."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_sequence(self, tag: str, sequence: Any, flow_style: bool | None = None) -> yaml.SequenceNode:
        return super().represent_sequence(tag, sequence, _flat(sequence))

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> yaml.MappingNode:
        return super().represent_mapping(tag, mapping, _flat(mapping))


def _flat(part: Any) -> bool:
    """Return whether a part fits in flow style. A list of words may wrap."""
    return len(json.dumps(part)) <= _SHORT or (isinstance(part, list) and all(isinstance(item, str) for item in part))


def _text(dumper: yaml.SafeDumper, text: str) -> yaml.Node:
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style="|" if "\n" in text else None)


_Dumper.add_representer(str, _text)


if __name__ == "__main__":
    made_by = Adviser(load([our_rules()]))
    text = yaml_text(document(create_app({"ADVISER": made_by}), made_by))
    Path(__file__).with_name("openapi.yaml").write_text(text, encoding="utf-8")
