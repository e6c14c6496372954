"""The least that a service of this shape can cost: Flask and marshmallow alone, to compare ours with.

It loads the same request through schemas of the same shape, works nothing out, and dumps ten short suggestions that are
always the same.
"""

from typing import Any

from flask import Flask, jsonify, request
from marshmallow import RAISE, Schema, ValidationError, fields
from marshmallow.validate import Length, OneOf, Range

NUMBERS = {name: fields.Integer(validate=Range(0)) for name in ("won", "of", "tried")}
WORDS = {
    "wing": ("forehand", "backhand"),
    "court": ("deuce", "ad"),
    "serve": ("first", "second"),
    "end": ("north", "south"),
}


def shape(*texts: str, **members: fields.Field) -> fields.Nested:
    return fields.Nested(Schema.from_dict({**{name: fields.String() for name in texts}, **members}))


def of_two(member: fields.Field) -> fields.List:
    return fields.List(member, validate=Length(2, 2))


SCORE = shape(
    sets=fields.List(of_two(fields.Integer(validate=Range(0)))),
    games=of_two(fields.Integer(validate=Range(0))),
    points=of_two(fields.String()),
    server=fields.String(validate=OneOf(("own", "opponent")), allow_none=True),
)
WON = shape(won=NUMBERS["won"], of=NUMBERS["of"])
SEEN = shape(
    *("value", "by", "note", "ref"),
    what=fields.String(required=True),
    **{name: fields.Float(validate=Range(0)) for name in ("count", "of")},
    counts=fields.Dict(keys=fields.String(), values=fields.Float(validate=Range(0))),
    rating=fields.Integer(validate=Range(0, 4)),
    amount=fields.Float(),
    seen=fields.Boolean(),
    **{name: fields.String(validate=OneOf(words)) for name, words in WORDS.items()},
    **{name: fields.Integer(validate=Range(1)) for name in ("set", "game")},
)
REQUEST = Schema.from_dict(
    {
        "moment": fields.String(required=True),
        **{name: fields.Dict(keys=fields.String()) for name in ("context", "own", "opponent")},
        "observations": fields.List(SEEN),
        "score": SCORE,
        "points_played": shape(on_serve=WON, on_return=WON),
        "own_errors": fields.Dict(keys=fields.String(), values=fields.Integer()),
        "tries": fields.List(shape("tactic", tried=NUMBERS["tried"], won=NUMBERS["won"])),
        "limit": fields.Integer(validate=Range(1, 10)),
        "minutes_left": fields.Float(),
    }
)
SUGGESTION = shape(
    *("tactic", "title", "say", "stop_when"),
    rank=fields.Integer(),
    because=fields.List(shape("text", observation=fields.Integer())),
    worth=shape("size", point=fields.Float(), match=fields.Float()),
)
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
    app = Flask("bare")
    loads, dumps = REQUEST(unknown=RAISE), shape("moment", suggestions=fields.List(SUGGESTION)).schema

    @app.post("/v1/suggestions")
    def suggest() -> Any:
        try:
            loads.load(request.get_json())
        except ValidationError as error:
            return jsonify(error.messages), 422
        return jsonify(dumps.dump(ANSWER))

    return app
