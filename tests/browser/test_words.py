"""The words on the buttons fit the question above them."""

import json
import shutil
import subprocess
from pathlib import Path

from tacticapi.api.rulebook import KindSchema
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.web import page_data

MODULE = Path(__file__).parents[2] / "tacticapi" / "web" / "static" / "kinds.js"
_SAY = """
import { readFileSync } from "node:fs";
const data = readFileSync(0, "utf8");
globalThis.document = { getElementById: () => ({ textContent: data }) };
const source = readFileSync(process.argv[1], "utf8");
const { kinds, ratingsOf, wordOf } = await import("data:text/javascript," + encodeURIComponent(source));
const wordsOf = (kind) => ({ scale: ratingsOf(kind), options: (kind.options ?? []).map(wordOf) });
console.log(JSON.stringify(Object.fromEntries(kinds.map((kind) => [kind.id, wordsOf(kind)]))));
"""
ENDS = {  # by its first words: what a question calls the ratings 0 and 4
    "How much pain": ("none", "severe"),
    "How much": ("almost none", "a great deal"),
    "How often": ("almost never", "very often"),
    "How fast": ("very slow", "very fast"),
    "How high": ("very low", "very high"),
    "How well": ("very poor", "very good"),
    "How good": ("very poor", "very good"),
    "How long": ("very poor", "very good"),
    "How comfortable": ("not at all", "very"),
    "How nervous": ("not at all", "very"),
    "Of the ": ("very poor", "very good"),
}


def test_a_rating_and_a_danger_sign_are_named_as_the_question_asks(adviser):
    data = page_data(adviser, KindSchema.written)
    node = shutil.which("node")
    assert node, "this needs Node.js (on Debian: nodejs)"
    command = [node, "--input-type=module", "-e", _SAY, str(MODULE)]
    run = subprocess.run(command, input=json.dumps(data), capture_output=True, text=True, timeout=60, check=True)
    said = json.loads(run.stdout)
    rated = {kind["id"]: kind["asks"] for kind in data["kinds"] if "rating" in kind["ways"]}
    for begins, ends in ENDS.items():
        asked = {name: asks for name, asks in rated.items() if asks.startswith(begins)}
        assert asked, begins
        for name in asked if begins == "How much pain" else asked.keys() - {"own.pain_now"}:
            assert (said[name]["scale"][0], said[name]["scale"][-1]) == ends, asked[name]
    assert said["own.pain_now"]["scale"] == ["none", "mild", "moderate", "bad", "severe"]
    assert {"trouble breathing", "leg cannot bear weight"} < set(said[WARNING_SIGN]["options"])
