"""The code that a phone draws to hand a match over, held equal to one that the Python package qrcode 8 drew."""

import hashlib
import json
import shutil
import subprocess
from pathlib import Path

MODULE = Path(__file__).parents[2] / "tacticapi" / "web" / "static" / "qr.js"
_DRAW = """
import { readFileSync } from "node:fs";
const { qr } = await import("data:text/javascript," + encodeURIComponent(readFileSync(process.argv[1], "utf8")));
const rows = (text) => qr(text).map((row) => row.map((dark) => (dark ? 1 : 0)).join(""));
console.log(JSON.stringify(JSON.parse(readFileSync(0, "utf8")).map(rows)));
"""
# text: (modules on a side, sha256 of its rows of 0 and 1), as qrcode 8 draws it with error correction L and mask 0
DRAWN = {
    "a": (21, "bf35b1e154e92eb4f32a6bae5b813d5809763714b28b6d0e376fe986c07c6d1f"),
    "http://192.0.2.7:8000/match#/m/01a22777-9c21-7200-b139-b3f076e0210e/score": (
        33,
        "cd5bb06cdd72fd2ac83ac1d26f359ede717852d617e5050b5372d77fcd6b790f",
    ),
    "http://192.0.2.7:8000/match#/m/01a22777-9c21-7200-b139-b3f076e0210e/hand/WEOWWEOWEOWWWEEOOWWEOWEOWWEOWEOWWEOWE": (
        41,
        "1a444db88e9e62b2daf68bc786a978599e5406bee5a77624620385184a84c9a0",
    ),
    "https://tennis.example.org/" + "match/" * 30: (
        53,
        "4ac5560cf11c9edc2a11f88d846b867b4dc373c5e9acbfc07adf1372aaf8b0b4",
    ),
    "é" * 130: (57, "1051b8d142705c5ea9099cc243561696d44a5e0856ecf8eb371c3d76a28cbcac"),
}


def test_a_code_is_drawn_as_the_standard_has_it() -> None:
    node = shutil.which("node")
    assert node, "this needs Node.js (on Debian: nodejs)"
    run = subprocess.run(
        [node, "--input-type=module", "-e", _DRAW, str(MODULE)],
        input=json.dumps(list(DRAWN)),
        check=True,
        capture_output=True,
        text=True,
        timeout=60,
    )
    drawn = [(len(rows), hashlib.sha256("\n".join(rows).encode()).hexdigest()) for rows in json.loads(run.stdout)]
    assert drawn == list(DRAWN.values())
