"""The same question gets the same answer from any process."""

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

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
    environment, command = {**os.environ, "PYTHONHASHSEED": hash_seed}, [sys.executable, "-c", ANSWERS]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout


def test_two_processes_with_different_hash_seeds_give_the_same_bytes():
    with ThreadPoolExecutor() as pool:
        one, other = pool.map(answers_of_a_process, ("1", "2"))
    assert one.count("\n") >= 2 * len(MOMENTS) + len(LISTS)
    assert one == other
