"""The least that a service of this shape can cost: Flask and marshmallow alone, to compare ours with.

It loads the same request through schemas of the same shape, works nothing out, and dumps ten short suggestions that are
always the same.
"""

from __future__ import annotations

from typing import Any

from flask import Flask, jsonify, request
from marshmallow import RAISE, Schema, ValidationError, fields
from marshmallow.validate import Length, OneOf, Range


class Score(Schema):
    sets = fields.List(fields.List(fields.Integer(validate=Range(0)), validate=Length(2, 2)))
    games = fields.List(fields.Integer(validate=Range(0)), validate=Length(2, 2))
    points = fields.List(fields.String(), validate=Length(2, 2))
    server = fields.String(validate=OneOf(("own", "opponent")), allow_none=True)


class Won(Schema):
    won = fields.Integer(validate=Range(0))
    of = fields.Integer(validate=Range(0))


class PointsPlayed(Schema):
    on_serve = fields.Nested(Won)
    on_return = fields.Nested(Won)


class Seen(Schema):
    what = fields.String(required=True)
    count = fields.Float(validate=Range(0))
    of = fields.Float(validate=Range(0))
    counts = fields.Dict(keys=fields.String(), values=fields.Float(validate=Range(0)))
    rating = fields.Integer(validate=Range(0, 4))
    value = fields.String()
    amount = fields.Float()
    seen = fields.Boolean()
    wing = fields.String(validate=OneOf(("forehand", "backhand")))
    court = fields.String(validate=OneOf(("deuce", "ad")))
    serve = fields.String(validate=OneOf(("first", "second")))
    end = fields.String(validate=OneOf(("north", "south")))
    set = fields.Integer(validate=Range(1))
    game = fields.Integer(validate=Range(1))
    by = fields.String()
    note = fields.String()
    ref = fields.String()


class Tries(Schema):
    tactic = fields.String(required=True)
    tried = fields.Integer(validate=Range(0))
    won = fields.Integer(validate=Range(0))


class Request(Schema):
    class Meta:
        unknown = RAISE

    moment = fields.String(required=True)
    context = fields.Dict(keys=fields.String())
    own = fields.Dict(keys=fields.String())
    opponent = fields.Dict(keys=fields.String())
    observations = fields.List(fields.Nested(Seen))
    score = fields.Nested(Score)
    points_played = fields.Nested(PointsPlayed)
    own_errors = fields.Dict(keys=fields.String(), values=fields.Integer())
    tries = fields.List(fields.Nested(Tries))
    limit = fields.Integer(validate=Range(1, 10))
    minutes_left = fields.Float()


class Reason(Schema):
    text = fields.String()
    observation = fields.Integer()


class Worth(Schema):
    size = fields.String()
    point = fields.Float()
    match = fields.Float()


class Suggestion(Schema):
    rank = fields.Integer()
    tactic = fields.String()
    title = fields.String()
    say = fields.String()
    because = fields.List(fields.Nested(Reason))
    worth = fields.Nested(Worth)
    stop_when = fields.String()


class Answer(Schema):
    moment = fields.String()
    suggestions = fields.List(fields.Nested(Suggestion))


ANSWER = {
    "moment": "change-of-ends",
    "suggestions": [
        {
            "rank": rank,
            "tactic": f"some-tactic-{rank}",
            "title": "Some tactic of these days",
            "say": "Play the next ball high and deep to the weaker wing, then step in.",
            "because": [{"text": "backhand errors: 7 of 14", "observation": rank}],
            "worth": {"size": "some", "point": 0.0123, "match": 0.0456},
            "stop_when": "Look again after losing four of six.",
        }
        for rank in range(1, 11)
    ],
}


def create_app() -> Flask:
    """The application: one route."""
    app = Flask("bare")
    loads, dumps = Request(), Answer()

    @app.post("/v1/suggestions")
    def suggest() -> Any:
        try:
            loads.load(request.get_json())
        except ValidationError as error:
            return jsonify(error.messages), 422
        return jsonify(dumps.dump(ANSWER))

    return app
