"""Where the rule engine cannot be used, the evaluator answers and /readyz says so."""

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.domain.rules import Rulebook
from tacticapi.rulebook.matcher import Matcher
from tacticapi.seeds import demo_situation


def test_a_failing_engine_is_a_warning_and_the_advice_stays_the_same(adviser: Adviser, rulebook: Rulebook) -> None:
    class Broken:
        def run(self, facts: object) -> None:
            raise RuntimeError("no answer")

    matcher = Matcher(rulebook)
    matcher._engine = Broken()  # type: ignore[assignment]
    client = create_app({"ADVISER": Adviser(rulebook, matcher)}).test_client()
    body = demo_situation("change-of-ends")
    told = client.post("/v1/suggestions", json=body).json
    assert told is not None
    expected = create_app({"ADVISER": adviser}).test_client().post("/v1/suggestions", json=body).json
    assert {**told, "advice_id": ""} == {**expected, "advice_id": ""}  # type: ignore[dict-item]
    ready = client.get("/readyz")
    assert ready.status_code == 200
    assert ready.json["engine"] == "evaluator"  # type: ignore[index]
    assert len(ready.json["warnings"]) == 1  # type: ignore[index]
