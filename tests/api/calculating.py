"""Every calculation with a body that it answers, and how it is asked over HTTP."""

import json
from typing import Any

from flask.testing import FlaskClient
from marshmallow import Schema

from tacticapi.api.calculations.court_position import CourtPositionSchema
from tacticapi.api.calculations.gap import GapResultSchema
from tacticapi.api.calculations.score import ImportanceTableSchema, WinChanceSchema
from tacticapi.api.calculations.serve_mix import ServeMixSchema
from tacticapi.api.calculations.shot_margin import ShotMarginSchema

WIN, IMPORTANCE, MIX = (f"/v1/calculations/{name}" for name in ("win-chance", "importance", "serve-mix"))
MARGIN, POSITION, GAP = (f"/v1/calculations/{name}" for name in ("shot-margin", "court-position", "gap"))
SHAPES: dict[str, Schema] = {
    WIN: WinChanceSchema(),
    IMPORTANCE: ImportanceTableSchema(),
    MIX: ServeMixSchema(),
    MARGIN: ShotMarginSchema(),
    POSITION: CourtPositionSchema(),
    GAP: GapResultSchema(),
}
CHANCES = {"own_serve": 0.65, "opponent_serve": 0.60}
SERVES = {"spots": {"wide": {"won": 8, "of": 11}, "body": {"won": 3, "of": 7}, "T": {"won": 6, "of": 10}}}
STROKE: dict[str, Any] = {"contact": {"x": 3.5, "y": -12.5}, "target": {"x": -2.6, "y": 9.9}}
BODIES: dict[str, dict[str, Any]] = {
    WIN: {"point_chances": CHANCES},
    IMPORTANCE: {"point_chances": CHANCES},
    MIX: {"courts": {"deuce": SERVES}, "seed": 1},
    MARGIN: STROKE,
    POSITION: {"ball": {"x": 4.115, "y": 11.885}},
    GAP: {"contact": {"x": 1.0, "y": -12.2}, "target": {"x": -3.1, "y": 10.4}, "opponent": {"x": 2.5, "y": 12.9}},
}


def asked(client: FlaskClient, address: str, **changes: Any) -> dict[str, Any]:
    """The answer to the body of this calculation with these changes; it has the shape that the contract tells."""
    response = client.post(address, json={**BODIES[address], **changes})
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = json.loads(response.data)
    assert SHAPES[address].validate(answer) == {}
    return answer


def faults(client: FlaskClient, address: str, body: Any) -> dict[str, str]:
    """What was expected at each place of a body that is refused."""
    response = client.post(address, json=body)
    assert response.status_code == 422, response.text
    assert response.content_type == "application/problem+json"
    return {error["pointer"]: error["expected"] for error in response.json["errors"]}
