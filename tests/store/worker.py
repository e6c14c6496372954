"""Processes of their own that add observations to a match and tell each request that was acknowledged.

Arguments: address of the database, file with the pickled rulebook, club, match, names of the workers with commas
between, how many requests, observations a request. Every request has a key of its own and is sent twice where
`again` is given. With several names, each works in a fork of the first, so that only one has to import everything.
"""

import os
import pickle
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tacticapi.club import IdempotentRequest, Services, entries
from tacticapi.store import open_engine


def main() -> None:
    names = sys.argv[5].split(",")
    print("ready", flush=True)
    sys.stdin.readline()
    if len(names) == 1:
        work(names[0])
        return
    children = [spawn(name) for name in names]
    sys.exit(max(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children))


def spawn(name: str) -> int:
    child = os.fork()
    if child == 0:
        status = 1
        try:
            work(name)
            status = 0
        finally:
            os._exit(status)
    return child


def work(name: str) -> None:
    url, rules, club, match, _, requests, size, *again = sys.argv[1:]
    adviser: Any = SimpleNamespace(rulebook=pickle.loads(Path(rules).read_bytes()))
    services = Services(open_engine(url), adviser)
    for request in range(int(requests)):
        bodies = [body(name, request, place) for place in range(int(size))]
        for _ in range(2 if again else 1):
            lines = entries.add_observations_in_bulk(
                services, club, match, bodies, once=IdempotentRequest.of(f"{name}/{request}", bodies)
            )
        assert all(line.receipt for line in lines)
        print(request, flush=True)


def body(name: str, request: int, place: int) -> dict[str, Any]:
    return {"what": "serve.followed_to_net", "count": 1, "of": 2, "ref": f"{name}/{request}/{place}"}


if __name__ == "__main__":
    main()
