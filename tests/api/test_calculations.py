"""All calculations alike: permissions of the event, notices, recorded examples, closed lists."""

from pathlib import Path
from typing import Any

import pytest
import yaml

from openapi.document import EXAMPLE_DIGITS, examples, recorded_answer
from tacticapi.advice.safety import CHECK, JUNIORS_CHECK, NO_COACHING, NO_DEVICE
from tacticapi.api.calculations.parts import AGE_BANDS, NO_PROMISE
from tacticapi.api.calculations.score import LEVELS
from tacticapi.api.calculations.serve_mix import HANDS
from tacticapi.pricing.serve_mix import MixModel

from .calculating import BODIES, asked

CONTRACT = Path(__file__).parents[2] / "openapi" / "openapi.yaml"
ROUNDED = 0.6 * 10**-EXAMPLE_DIGITS


@pytest.mark.parametrize("address", BODIES)
@pytest.mark.parametrize("moment", ["after-warm-up", "between-points", "change-of-ends", "set-break"])
@pytest.mark.parametrize(
    ("context", "why"), [({"coaching": "not-permitted"}, NO_COACHING), ({"device": "nobody"}, NO_DEVICE)]
)
def test_nothing_is_calculated_where_the_event_permits_nothing(client, address, moment, context, why):
    answer = asked(client, address, moment=moment, context=context)
    assert (answer.pop("safety"), answer.pop("notice")) == ([], [why])
    assert answer == {}


@pytest.mark.parametrize("address", BODIES)
def test_notices_say_what_is_not_known_about_the_event(client, address):
    known = {"coaching": "permitted", "device": "coach"}
    assert asked(client, address)["notice"][0] == CHECK
    assert asked(client, address, moment="set-break")["notice"][0] == CHECK
    assert asked(client, address, context={"age_band": "U14"})["notice"][:2] == [CHECK, JUNIORS_CHECK]
    for open_to_it in ({"moment": "set-break", "context": known}, {"moment": "before-match"}):
        notice = asked(client, address, **open_to_it)["notice"]
        assert CHECK not in notice
        assert notice[-1] == NO_PROMISE
    covered = {"coaching": "set-break", "device": "player"}
    assert asked(client, address, moment="between-points", context=covered)["notice"] == [NO_COACHING]
    assert asked(client, address, moment="set-break", context=covered)["notice"][-1] == NO_PROMISE


FIRST = {example.calculation: example for example in reversed(examples())}.values()


@pytest.mark.parametrize("example", FIRST, ids=lambda example: f"{example.calculation} {example.name}")
def test_a_recorded_example_is_what_the_service_answers(app, example):
    published = yaml.load(CONTRACT.read_text(), yaml.CSafeLoader)
    operation = published["paths"][example.path]["post"]
    recorded = operation["responses"]["200"]["content"]["application/json"]["example"]
    assert operation["requestBody"]["content"]["application/json"]["example"] == example.body
    assert recorded == recorded_answer(example, app.test_client())
    answer = app.test_client().post(example.path, json=example.body).json
    assert numbers(answer) == pytest.approx(numbers(recorded), abs=ROUNDED)


def numbers(node: Any) -> list[float]:
    if isinstance(node, (dict, list)):
        return [number for below in (node.values() if isinstance(node, dict) else node) for number in numbers(below)]
    return [node] if isinstance(node, float) else []


def test_closed_lists_are_those_of_the_rulebook(rulebook):
    assert tuple(rulebook.kinds["context.level_gap"].options) == LEVELS
    assert tuple(rulebook.kinds["context.age_band"].options) == AGE_BANDS
    assert tuple(rulebook.kinds["opponent.handedness"].options) == HANDS
    assert MixModel(**rulebook.defaults["serve_mix"]).least_share == 0.1
