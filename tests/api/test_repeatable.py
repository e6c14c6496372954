"""The same question gets the same answer, from any process and in whatever order things were seen."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from random import Random
from typing import Any

import pytest
from flask.testing import FlaskClient

from tacticapi.seeds import demo_situation

MOMENTS = ("after-warm-up", "change-of-ends", "set-break")
LISTS = ("/v1/vocabulary", "/v1/traits", "/v1/tactics", "/v1/rulebook")
ANSWERS = f"""
import json
from tacticapi.api import create_app
from tacticapi.seeds import demo_situation
client = create_app().test_client()
for moment in {MOMENTS!r}:
    for address in ("/v1/suggestions", "/v1/explanations"):
        answer = json.loads(client.post(address, json=demo_situation(moment)).data)
        del answer["advice_id"]
        print(json.dumps(answer))
for address in {LISTS!r}:
    print(client.get(address).text)
"""


def answers_of_a_process(hash_seed: str) -> str:
    ran = subprocess.run(
        [sys.executable, "-c", ANSWERS],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
    )
    return ran.stdout


def test_two_processes_with_different_hash_seeds_give_the_same_bytes():
    with ThreadPoolExecutor() as pool:
        one, other = pool.map(answers_of_a_process, ("1", "2"))
    assert one.count("\n") >= 2 * len(MOMENTS) + len(LISTS)
    assert one == other


@pytest.mark.parametrize("moment", MOMENTS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_order_in_which_things_were_seen_changes_no_belief_and_no_line(client, moment, seed):
    body = demo_situation(moment)
    shuffled = list(body["observations"])
    Random(seed).shuffle(shuffled)
    assert told(client, {**body, "observations": shuffled}) == told(client, body)


def told(client: FlaskClient, body: dict[str, Any]) -> dict[str, Any]:
    answer = json.loads(client.post("/v1/suggestions?include=beliefs,held_back", json=body).data)
    return {
        "beliefs": [(b["trait"], b.get("wing"), b["probability"]) for b in answer["beliefs"]],
        "lines": [(s["tactic"], s.get("worth")) for s in answer["suggestions"]],
        "looks": [(look["what"], look.get("worth")) for look in answer["look_for"]],
        "held": [(held["tactic"], held["why"]) for held in answer["held_back"]],
        "plan": answer["plan"]["why"],
    }
