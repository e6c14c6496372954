"""Requests made from the contract, sound and unsound, alone and in sequences: every answer is one the contract names.

All checks of schemathesis are on. What computes takes most of the time, so in the everyday run advice and calculations
are asked at random alone, not for every border of every field.
"""

import json
from collections import Counter
from collections.abc import Iterator
from typing import Any

from schemathesis.engine import events, from_schema
from schemathesis.schemas import BaseSchema

from tacticapi.api.http.problems import PROBLEMS

from .conftest import EXAMPLES

ADVICE = ["suggest", "explain"]
CALCULATIONS = "^/v1/calculations/"
DEAR = ("fuzzing",) if EXAMPLES <= 100 else ("coverage", "fuzzing")
TYPES = {problem.type for problem in PROBLEMS}


def scenarios(contract: BaseSchema) -> Iterator[Any]:
    """Everything that was asked. Fails where the requests could not be made."""
    for event in from_schema(contract).execute():
        assert not isinstance(event, events.FatalError), event.exception
        assert not isinstance(event, events.NonFatalError), f"{event.label}: {event.value}"
        if isinstance(event, events.ScenarioFinished):
            yield event.recorder


def asked(contract: BaseSchema) -> Counter[int]:
    """How often each status was answered. Fails with every different failure and how to see it again."""
    statuses: Counter[int] = Counter()
    failures: dict[tuple[str, str], str] = {}
    for recorder in scenarios(contract):
        for checks in recorder.checks.values():
            for check in checks:
                if check.failure_info:
                    failure = check.failure_info.failure
                    told = f"{failure.title}: {failure.message}\n{check.failure_info.code_sample}"
                    failures.setdefault((recorder.label, check.name), told)
        for interaction in recorder.interactions.values():
            if interaction.response is not None:
                statuses[interaction.response.status_code] += 1
                problem_is_listed(interaction.response)
    assert not failures, "\n\n".join(f"{label}: {told}" for (label, _), told in failures.items())
    return statuses


def problem_is_listed(response: Any) -> None:
    if response.status_code >= 400 and response.content:
        problem = json.loads(response.content)
        assert problem["type"] in TYPES
        assert problem["status"] == response.status_code


def test_any_request_for_advice_is_answered_as_the_contract_says(contract):
    statuses = asked(contract(*DEAR).include(operation_id=ADVICE))
    assert {200, 422} <= statuses.keys()


def test_any_question_to_a_model_is_answered_as_the_contract_says(contract):
    statuses = asked(contract(*DEAR).include(path_regex=CALCULATIONS))
    assert {200, 422} <= statuses.keys()


def test_any_other_request_that_reads_is_answered_as_the_contract_says(contract):
    statuses = asked(contract("coverage", "fuzzing").include(method="GET"))
    assert {200, 404, 405, 422} <= statuses.keys()


def test_any_other_request_that_changes_is_answered_as_the_contract_says(contract):
    rest = contract("coverage", "fuzzing").exclude(path_regex=CALCULATIONS).exclude(operation_id=ADVICE)
    statuses = asked(rest.exclude(method="GET"))
    assert {200, 201, 404, 405, 422} <= statuses.keys()


def test_any_sequence_of_requests_is_answered_as_the_contract_says(contract):
    statuses = asked(contract("stateful").exclude(path_regex=CALCULATIONS).exclude(operation_id=ADVICE))
    assert {200, 201, 404} <= statuses.keys()
