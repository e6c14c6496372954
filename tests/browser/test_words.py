"""The words on the buttons fit the question above them."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

from tacticapi.api.rulebook import KindSchema
from tacticapi.rulebook.danger import WARNING_SIGN
from tacticapi.web import page_data

STATIC = Path(__file__).parents[2] / "tacticapi" / "web" / "static"
_BEGIN = """
import { readFileSync } from "node:fs";
const data = readFileSync(0, "utf8");
const textOf = (name) => readFileSync(`${process.argv[1]}/${name}`, "utf8");
const load = (name) => import("data:text/javascript," + encodeURIComponent(textOf(name)));
const say = (what) => console.log(JSON.stringify(what));
"""
_SAY = """
globalThis.document = { getElementById: () => ({ textContent: data }) };
const { kinds, ratingsOf, wordOf } = await load("kinds.js");
const wordsOf = (kind) => ({ scale: ratingsOf(kind), options: (kind.options ?? []).map(wordOf) });
say(Object.fromEntries(kinds.map((kind) => [kind.id, wordsOf(kind)])));
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


def told(script: str, data: object) -> Any:
    """What a script says that may load modules of the page and read this data."""
    node = shutil.which("node")
    assert node, "this needs Node.js (on Debian: nodejs)"
    command = [node, "--input-type=module", "-e", _BEGIN + script, str(STATIC)]
    run = subprocess.run(command, input=json.dumps(data), capture_output=True, text=True, timeout=60, check=True)
    return json.loads(run.stdout)


def test_a_rating_and_a_danger_sign_are_named_as_the_question_asks(adviser):
    data = page_data(adviser, KindSchema.written)
    said = told(_SAY, data)
    rated = {kind["id"]: kind["asks"] for kind in data["kinds"] if "rating" in kind["ways"]}
    for begins, ends in ENDS.items():
        asked = {name: asks for name, asks in rated.items() if asks.startswith(begins)}
        assert asked, begins
        for name in asked if begins == "How much pain" else asked.keys() - {"own.pain_now"}:
            assert (said[name]["scale"][0], said[name]["scale"][-1]) == ends, asked[name]
    assert said["own.pain_now"]["scale"] == ["none", "mild", "moderate", "bad", "severe"]
    assert {"trouble breathing", "leg cannot bear weight"} < set(said[WARNING_SIGN]["options"])


def test_no_figure_is_less_than_nothing():
    worth = {"point": 0.012, "match": 0.05, "match_low": -0.0002, "match_high": 0.128}
    said = told('say((await load("words.js")).worthNumbers(JSON.parse(data)));', worth)
    assert said.startswith("In numbers: +1.2 points in 100 and +5.0 matches in 100 (from 0.0 to +12.8)")
