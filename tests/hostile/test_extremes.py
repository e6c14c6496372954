"""The ends of every range that the contract names: each answer is no failure of ours, finite, and its chances chances.

Warnings are errors here as in all tests, so an overflow that is only warned of fails too.
"""

import copy
import json
from collections.abc import Iterator
from functools import cache
from itertools import product
from math import inf, nextafter
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema_rs import Draft202012Validator

from openapi.document import examples
from tacticapi.domain.rules import ObservationKind, Rulebook
from tacticapi.domain.situation import MAX_TRIED, Moment, Way
from tacticapi.seeds import demo_situation

ADVICE = "/v1/suggestions"
ADDRESSES = sorted({example.path for example in examples()})
GOOD = [(example.path, dict(example.body)) for example in examples() if "not-permitted" not in str(example.body)]
TINY = (0.0, -0.0, 5e-324, 1e-300)
PARTS_OF = (("won", "of"), ("count", "of"), ("unforced", "of"), ("won", "tried"))
SLOW = tuple(f"/v1/calculations/{name}" for name in ("shot-margin", "court-position", "gap"))  # fly thousands of balls
FEW = settings(max_examples=25, suppress_health_check=list(HealthCheck), deadline=None)
CARE = {"coaching": "permitted", "device": "coach"}
CHOSEN = ("courts", "points_played", "point_chances", "counts", "spread", "ball", "smash", "sequence", "scores")
"""Members of which a body takes one of several, or a fitting set: the good bodies hold them."""


class Contract:
    """The schemas of the contract, with references followed."""

    def __init__(self, document: Any) -> None:
        self.document = document
        self.answers = cache(self._answer)

    def plain(self, schema: Any) -> Any:
        """A schema without a reference and without null as one of its forms."""
        while "$ref" in schema:
            schema = self.document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
        forms = [form for form in schema.get("anyOf", ()) if form.get("type") != "null"]
        return self.plain(forms[-1]) if forms else schema

    def body(self, address: str) -> Any:
        return self.plain(self._json(self.document["paths"][address]["post"]["requestBody"]))

    def _answer(self, address: str) -> Draft202012Validator:
        found = self._json(self.document["paths"][address]["post"]["responses"]["200"])
        return Draft202012Validator({**found, "components": self.document["components"]})

    def _json(self, described: Any) -> Any:
        return described["content"]["application/json"]["schema"]


@pytest.fixture(scope="module")
def known(app: Flask) -> Contract:
    return Contract(json.loads(app.test_client().get("/openapi.json").data))


def types_of(schema: Any) -> set[str]:
    found = schema.get("type", "object" if "properties" in schema else "")
    return {found} if isinstance(found, str) else set(found)


def ends(schema: Any) -> list[float | int]:
    """The numbers at and just inside the ends of a range, nought and what is nearly nought if they lie within."""
    low, high = schema.get("minimum", -1e300), schema.get("maximum", 1e300)
    if "integer" in types_of(schema):
        found: list[float | int] = [low, low + 1, high - 1, high, 0]
    else:
        found = [low, high, nextafter(low, inf), nextafter(high, -inf), *TINY]
    return list({str(number): number for number in found if low <= number <= high}.values())


def numbers(known: Contract, schema: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Every numeric member below a schema: its place and its own schema; a list is entered at its first item."""
    schema = known.plain(schema)
    if types_of(schema) & {"number", "integer"} and "enum" not in schema:
        yield at, schema
    for name, below in schema.get("properties", {}).items():
        yield from numbers(known, below, (*at, name))
    if "items" in schema:
        yield from numbers(known, schema["items"], (*at, 0))


def placed(known: Contract, schema: Any, body: Any, at: tuple[Any, ...], value: Any) -> Any:
    """A copy of a body with a value at a place; what has to stand around it is put there too."""
    schema = known.plain(schema)
    if not at:
        return value
    step, *below = at
    if isinstance(step, int):
        inner = [copy.deepcopy(one) for one in (body or [])] or [least(known, schema["items"])]
        inner = [placed(known, schema["items"], inner[0], tuple(below), value), *inner[1:]]
        return inner + [copy.deepcopy(inner[0]) for _ in range(schema.get("minItems", 0) - len(inner))]
    made = {**least(known, schema), **(body if isinstance(body, dict) else {})}
    made[step] = placed(known, schema["properties"][step], made.get(step), tuple(below), value)
    for part, whole in PARTS_OF:
        if part in made and whole in made and made[part] > made[whole]:
            made[part if step == whole else whole] = made[step]
    return made


def least(known: Contract, schema: Any) -> Any:
    """The least that fits a schema: required members only, at the middle of their ranges."""
    schema = known.plain(schema)
    kinds = types_of(schema)
    if "enum" in schema:
        return schema["enum"][0]
    if "object" in kinds:
        return {name: least(known, schema["properties"][name]) for name in schema.get("required", ())}
    if "array" in kinds:
        return [least(known, schema["items"])] * schema.get("minItems", 0)
    if "number" in kinds:
        return (schema["minimum"] + schema["maximum"]) / 2
    return schema.get("minimum", 0) if "integer" in kinds else "0" if "string" in kinds else True


def answered(known: Contract, client: FlaskClient, address: str, body: Any) -> int:
    """Post a body; its answer is no failure, holds finite numbers only, and keeps to the ranges of the contract."""
    response = client.post(address, json=body)
    assert response.status_code in (200, 422), (address, body, response.text[:400])
    answer = json.loads(response.data, parse_constant=lambda name: pytest.fail(f"{name} for {body}"))
    if response.status_code == 200:
        errors = [f"{error.instance_path}: {error.message}" for error in known.answers(address).iter_errors(answer)]
        assert not errors, (address, body, errors[:3])
    return response.status_code


@pytest.mark.parametrize("address", ADDRESSES)
def test_each_number_of_a_calculation_may_stand_at_the_ends_of_its_range(app, known, address):
    client, schema = app.test_client(), known.body(address)
    good = next(body for of, body in GOOD if of == address)
    told = {}
    for at, number in numbers(known, schema):
        sound = {name: part for name, part in good.items() if (name, at[0]) != ("point_chances", "points_played")}
        found = ends(number)[:2] if address in SLOW else ends(number)
        told[at] = {answered(known, client, address, placed(known, schema, sound, at, end)) for end in found}
    calculated = [at for at, statuses in told.items() if 200 in statuses]
    assert len(calculated) >= 0.7 * len(told), set(told) - set(calculated)


@pytest.mark.parametrize("moment", ["change-of-ends", "set-break"])
def test_each_number_of_a_situation_may_stand_at_the_ends_of_its_range(app, known, moment):
    client, schema, good = app.test_client(), known.body(ADVICE), demo_situation(moment)
    played = {"tactic": "work-weaker-wing", "tried": 8, "won": 4}
    good = {**good, "tries": [played], "plan": {"tactic": played["tactic"], "since": {"game": 1}}}
    told = {}
    for at, number in numbers(known, schema):
        if at[0] not in ("observations", "score") and at[-1] != "tie_break_at":
            told[at] = {answered(known, client, ADVICE, placed(known, schema, good, at, end)) for end in ends(number)}
    assert len(told) > 40
    assert [at for at, statuses in told.items() if statuses != {200}] == []


def test_each_kind_may_be_posted_at_the_ends_of_its_ways(app, known, rulebook):
    kinds = [kind for kind in rulebook.kinds.values() if kind.subject not in ("own", "opponent", "context")]
    seen = [{"what": kind.id, **said} for kind in kinds for said in ways_at_their_ends(kind)]
    for start in range(40):
        body = {"moment": "change-of-ends", "observations": seen[start::40]}
        assert answered(known, app.test_client(), ADVICE, body) == 200


def ways_at_their_ends(kind: ObservationKind) -> Iterator[dict[str, Any]]:
    """Every way of saying a kind, at its ends, with the qualifiers that it has to have."""
    words = {"wing": "backhand", "court": "ad", "serve": "second"}
    needed: dict[str, Any] = {name: words[name] for name, taken in kind.qualifiers.items() if taken == "required"}
    if kind.needs_end:
        needed["end"] = "north"
    most = 10_000
    said: dict[Way, list[dict[str, Any]]] = {
        Way.COUNT: [{"count": 0, "of": 0}, {"count": 0, "of": most}, {"count": most, "of": most}],
        Way.COUNTS: [{"counts": dict.fromkeys(kind.options, many)} for many in (0, most)],
        Way.RATING: [{"rating": rating} for rating in (0, -0.0, 4)],
        Way.VALUE: [{"value": option} for option in kind.options[:1] + kind.options[-1:]],
        Way.AMOUNT: [{"amount": end} for end in ends({"type": "number", "minimum": kind.low, "maximum": kind.high})]
        if kind.low is not None and kind.high is not None
        else [{"amount": end} for end in (kind.low or -1e6, kind.high or 1e6)],
        Way.SEEN: [{"seen": True}, {"seen": False}],
        Way.TEXT: [{"value": "WL" * 20}, {"value": "x" * 500}][: 1 if kind.id == "record.last_points" else 2],
    }
    for way in kind.ways:
        for one in said[way]:
            for late in ({}, {"set": most, "game": most}):
                yield {**one, **needed, **late}


@st.composite
def extreme(draw: st.DrawFn, known: Contract, schema: Any) -> Any:
    """Anything that fits a schema, with numbers at the ends of their ranges, and lists and texts as long as may be."""
    schema = known.plain(schema)
    kinds = types_of(schema)
    if "enum" in schema:
        return draw(st.sampled_from([word for word in schema["enum"] if word is not None]))
    if "object" in kinds:
        required = schema.get("required", ())
        names = [name for name in schema.get("properties", {}) if name in required or draw(st.booleans())]
        made = {name: draw(extreme(known, schema["properties"][name])) for name in names}
        return made | {part: min(made[part], made[all_]) for part, all_ in PARTS_OF if {part, all_} <= made.keys()}
    if "array" in kinds:
        most = schema.get("maxItems", 3)
        length = draw(st.sampled_from([schema.get("minItems", 0), min(most, 3), most if most <= 200 else 3]))
        return [draw(extreme(known, schema["items"]))] * length
    if kinds & {"number", "integer"}:
        return draw(st.sampled_from(ends(schema)))
    if "string" in kinds:
        return draw(st.sampled_from(["0" * schema.get("minLength", 1), "9" * schema.get("maxLength", 20)]))
    return draw(st.booleans())


@FEW
@given(data=st.data())
@pytest.mark.parametrize("address", ADDRESSES)
def test_all_numbers_of_a_calculation_at_the_ends_of_their_ranges_at_once(app, known, address, data):
    schema = known.body(address)
    good = data.draw(st.sampled_from([body for of, body in GOOD if of == address]))
    drawn = data.draw(extreme(known, schema))
    posted = dict(good)
    for name in drawn.keys() - {*CHOSEN, "moment", "score"}:
        if name not in good or data.draw(st.booleans()):
            posted[name] = drawn[name]
    for name in good.keys() & set(CHOSEN):
        posted[name] = data.draw(extreme(known, schema["properties"][name])) if data.draw(st.booleans()) else good[name]
    answered(known, app.test_client(), address, {**posted, "context": CARE})
    answered(known, app.test_client(), address, drawn)


@settings(FEW, max_examples=60)
@given(data=st.data())
def test_all_of_a_situation_at_the_ends_of_its_ranges_at_once(app, known, rulebook, data):
    schema = known.body(ADVICE)
    drawn = data.draw(extreme(known, schema))
    kinds = [kind for kind in rulebook.kinds.values() if kind.subject not in ("own", "opponent", "context")]
    seen = data.draw(st.lists(st.sampled_from(kinds), max_size=12))
    moment = data.draw(st.sampled_from([moment.value for moment in Moment]))
    posted = {
        **drawn,
        "moment": moment,
        "observations": [{"what": k.id, **data.draw(st.sampled_from(list(ways_at_their_ends(k))))} for k in seen],
        "tries": data.draw(most_tries(rulebook)),
    }
    for name in ("score", "opponent_id"):
        posted.pop(name, None)
    context = {**posted.get("context", {}), **CARE}
    context.pop("format", None)
    answered(known, app.test_client(), ADVICE, {**posted, "context": context})


@st.composite
def most_tries(draw: st.DrawFn, rulebook: Rulebook) -> list[dict[str, Any]]:
    """As many tries as may be, some of them in many entries that add up."""
    tactics = draw(st.lists(st.sampled_from(sorted(rulebook.tactics)), max_size=6, unique=True))
    entries = draw(st.sampled_from([1, 8, 30]))
    each = MAX_TRIED // entries
    return [
        {"tactic": tactic, "tried": each, "won": draw(st.sampled_from([0, 1, each // 2, each - 1, each]))}
        for tactic in tactics
        for _ in range(entries)
    ][:200]


SCORES: list[dict[str, Any]] = [
    {"format": {"sets": 5, "set": "advantage"}, "score": {"sets": [[6, 4], [4, 6]], "games": games, "points": points}}
    for games in ([999, 998], [998, 998], [998, 999], [0, 0])
    for points in (["0", "0"], ["40", "AD"])
] + [
    {"format": {"sets": 1}, "score": {"games": [6, 6], "points": points}}
    for points in (["999", "998"], ["998", "998"], ["0", "6"])
]  # fmt: skip


@pytest.mark.parametrize("score", SCORES)
def test_the_longest_score_has_chances_at_any_point_chances(app, known, score):
    body = copy.deepcopy(score)
    body["score"]["server"] = "own"
    for chance, other in product((0.0, 5e-324, 1e-300, 0.5, 1 - 2.0**-53, 1.0), (0.0, 0.5, 1.0)):
        body["point_chances"] = {"own_serve": chance, "opponent_serve": other}
        for address in ("/v1/calculations/win-chance", "/v1/calculations/importance"):
            assert answered(known, app.test_client(), address, body) == 200
    played = {"on_serve": {"won": 10_000, "of": 10_000}, "on_return": {"won": 0, "of": 10_000}}
    context = {"format": score["format"], **CARE}
    asked = {"moment": "between-points", "context": context, "score": body.get("score"), "points_played": played}
    assert answered(known, app.test_client(), ADVICE, asked) == 200


def test_lists_and_texts_of_the_greatest_length_are_answered(app, known, rulebook):
    kinds = [kind for kind in rulebook.kinds.values() if kind.subject not in ("own", "opponent", "context")]
    seen = [{"what": kind.id, **said} for kind in kinds for said in ways_at_their_ends(kind)][:1000]
    texts = known.plain(known.body(ADVICE)["properties"]["observations"]["items"])["properties"]
    longest = {name: "x" * texts[name]["maxLength"] for name in ("by", "note", "ref")}
    body = {
        **demo_situation("set-break"),
        "observations": [{**one, **longest} for one in seen],
        "tries": [{"tactic": tactic, "tried": 2000, "won": 1000} for tactic in sorted(rulebook.tactics)],
        "previous": {"advice_id": "x" * 100, "first": "x" * 100, "beliefs": {f"t{n}": n % 2 for n in range(500)}},
        "limit": 10,
        "minutes_left": 720,
    }
    assert answered(known, app.test_client(), ADVICE, body) == 200
