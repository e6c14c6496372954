"""The score that the match page keeps by itself is that of the service: random matches in every format."""

import json
import random
import shutil
import subprocess
from itertools import product
from pathlib import Path
from typing import Any

from tacticapi.club.scorekeeping import moment_of
from tacticapi.scoring.formats import SIDES, Format, Side
from tacticapi.scoring.score import State, after, next_point

MODULE = Path(__file__).parents[2] / "tacticapi" / "web" / "static" / "scoring.js"
MATCHES = 1  # in each format
MAX_POINTS = 300
_PLAY = """
import { readFileSync } from "node:fs";
const source = readFileSync(process.argv[1], "utf8");
const s = await import("data:text/javascript," + encodeURIComponent(source));
const matches = JSON.parse(readFileSync(0, "utf8"));
const at = (state, format) => ({
  score: s.written(state, format), again: s.written(s.read(s.written(state, format), format), format),
  moment: s.momentOf(state, format), winner: s.winnerOf(state, format), deciding: s.isDeciding(state, format),
  court: s.winnerOf(state, format) ? null : s.courtOf(state, format),
});
console.log(JSON.stringify(matches.map(({ format, server, points }) => {
  let state = s.start(server);
  return points.map((winner) => at(state = s.after(state, winner, format), format));
})));
"""


def formats() -> list[dict[str, Any]]:
    """Every format that there is."""
    sets, finals = ("tie-break-7", "advantage"), ("tie-break-7", "tie-break-10", "advantage", "match-tie-break-7")
    every = product(
        (1, 3, 5), (4, 6), (0, -1), sets, (None, *finals, "match-tie-break-10"), (False, True), (None, 5, 7)
    )
    ends = ("every-6", "after-1-then-every-4")
    return [
        {
            "sets": most,
            "games": games,
            "tie_break_at": games + at,
            "set": kind,
            **({"final_set": final} if final else {}),
            "no_ad": no_ad,
            **({"tie_break_points": points} if points else {}),
            "tie_break_ends": ends[number % 2],
        }
        for number, (most, games, at, kind, final, no_ad, points) in enumerate(every)
    ]


def played(fmt: Format, server: Side | None, draw: random.Random) -> tuple[list[Side], list[dict[str, Any]]]:
    """The winners of a random match, and what the service says after each point."""
    state, winners, told = State(fmt, server=server), [], []
    even = draw.random()
    while state.winner is None and len(winners) < MAX_POINTS:
        winner = draw.choice(SIDES) if draw.random() < even else SIDES[len(winners) // 5 % 2]
        state = after(state, winner)
        point = next_point(state)
        score = state.to_wire()
        told.append(
            {
                "score": score,
                "again": score,
                "moment": moment_of(state).value,
                "winner": state.winner,
                "deciding": state.deciding_point,
                "court": point.courts[0] if len(point.courts) == 1 else None,
            }
        )
        winners.append(winner)
    return winners, told


def test_the_page_and_the_service_keep_the_same_score():
    node = shutil.which("node")
    assert node, "this needs Node.js (on Debian: nodejs)"
    draw = random.Random(11)
    matches, told = [], []
    for wire in formats():
        for _ in range(MATCHES):
            server = draw.choice((*SIDES, None))
            winners, said = played(Format.from_wire(wire), server, draw)
            matches.append({"format": wire, "server": server, "points": winners})
            told.append(said)
    assert {one["moment"] for said in told for one in said} == {
        "between-points",
        "change-of-ends",
        "set-break",
        "after-match",
    }
    run = subprocess.run(
        [node, "--input-type=module", "-e", _PLAY, str(MODULE)],
        input=json.dumps(matches),
        check=False,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert run.returncode == 0, run.stderr
    for match, service, page in zip(matches, told, json.loads(run.stdout), strict=True):
        for number, (one, other) in enumerate(zip(service, page, strict=True)):
            assert one == other, (match["format"], match["server"], match["points"][: number + 1])
