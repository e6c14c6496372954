"""A process of its own that adds observations to a match and tells each one that was acknowledged.

Arguments: address of the database, file with the pickled rulebook, club, match, name of the worker, how many
requests, observations a request. Every request has a key of its own and is sent twice where `again` is given.
"""

import pickle
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tacticapi.service import Desk, Once, observations
from tacticapi.store import open_engine


def main(url: str, rules: str, club: str, match: str, name: str, requests: str, size: str, again: str = "") -> None:
    adviser: Any = SimpleNamespace(rulebook=pickle.loads(Path(rules).read_bytes()))
    desk = Desk(open_engine(url), adviser)
    print("ready", flush=True)
    sys.stdin.readline()
    for request in range(int(requests)):
        bodies = [body(name, request, place) for place in range(int(size))]
        for _ in range(2 if again else 1):
            lines = observations.add_in_bulk(desk, club, match, bodies, once=Once.of(f"{name}/{request}", bodies))
        assert all(line.receipt for line in lines)
        print(request, flush=True)


def body(name: str, request: int, place: int) -> dict[str, Any]:
    return {"what": "serve.followed_to_net", "count": 1, "of": 2, "ref": f"{name}/{request}/{place}"}


if __name__ == "__main__":
    main(*sys.argv[1:])
