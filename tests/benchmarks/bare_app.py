"""The least that a service of this shape can cost: Flask and marshmallow alone, to compare ours with.

It loads the same request through schemas of the same shape and dumps a recorded answer of ours for so many
observations through schemas of the same shape. BARE_ANSWERS names the file of answers by number of observations.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
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


class Source(Schema):
    status = fields.String()
    key = fields.String()
    citation = fields.String()
    backs = fields.String()


class Line(Schema):
    tactic = fields.String()
    say = fields.String()
    why = fields.String()
    caution = fields.String()
    alone = fields.Boolean()
    source = fields.Nested(Source)


class Reason(Seen):
    text = fields.String()
    observation = fields.Integer()
    trait = fields.String()
    log_odds = fields.Float()


class RestsOn(Schema):
    trait = fields.String()
    wing = fields.String()
    probability = fields.Float()
    read = fields.String()


class Suggestion(Line):
    rank = fields.Integer()
    category = fields.String()
    title = fields.String()
    because = fields.List(fields.Nested(Reason))
    rests_on = fields.List(fields.Nested(RestsOn))
    gain = fields.Dict(keys=fields.String(), values=fields.Float())
    not_if = fields.String()
    stop_when = fields.String()
    risk = fields.String()
    targets = fields.List(fields.Dict(keys=fields.String(), values=fields.String()))
    sources = fields.List(fields.Nested(Source))
    coaches_differ = fields.String()


class Look(Schema):
    what = fields.String()
    asks = fields.String()
    how = fields.String()
    worth = fields.Float()
    trait = fields.String()
    wing = fields.String()


class Noted(Schema):
    observation = fields.Integer()
    ref = fields.String()
    what = fields.String()
    tactic = fields.String()
    reason = fields.String()
    why = fields.String()


class Contribution(Schema):
    text = fields.String()
    what = fields.String()
    observations = fields.List(fields.Integer())
    phase = fields.String()
    chances = fields.Float()
    log_odds = fields.Float()


class Belief(Schema):
    trait = fields.String()
    wing = fields.String()
    probability = fields.Float()
    prior = fields.Float()
    because = fields.List(fields.Nested(Contribution))


class Seen(Schema):
    count = fields.Float()
    of = fields.Float()


class Estimate(Schema):
    quality = fields.String()
    player = fields.String()
    wing = fields.String()
    what = fields.String()
    says = fields.String()
    usual = fields.Float()
    estimate = fields.Float()
    low = fields.Float()
    high = fields.Float()
    seen = fields.Nested(Seen)


class Changed(Schema):
    what = fields.String()
    text = fields.String()
    trait = fields.String()
    wing = fields.String()
    before = fields.Float()
    after = fields.Float()
    observations = fields.List(fields.Integer())


class Answer(Schema):
    advice_id = fields.UUID()
    moment = fields.String()
    rulebook = fields.Dict(keys=fields.String(), values=fields.String())
    safety = fields.List(fields.Nested(Line))
    plan = fields.Dict()
    score = fields.String()
    suggestions = fields.List(fields.Nested(Suggestion))
    look_for = fields.List(fields.Nested(Look))
    held_back = fields.List(fields.Nested(Noted))
    unused = fields.List(fields.Nested(Noted))
    beliefs = fields.List(fields.Nested(Belief))
    profile = fields.List(fields.Nested(Estimate))
    notice = fields.List(fields.String())
    changed = fields.List(fields.Nested(Changed))


def create_app() -> Flask:
    """The application: one route."""
    app = Flask("bare")
    answers = {int(size): answer for size, answer in json.loads(Path(os.environ["BARE_ANSWERS"]).read_text()).items()}
    loads, dumps = Request(), Answer()

    @app.post("/v1/suggestions")
    def suggest() -> Any:
        try:
            posted = loads.load(request.get_json())
        except ValidationError as error:
            return jsonify(error.messages), 422
        return jsonify(dumps.dump(answers[len(posted["observations"])]))

    return app
