"""Processes that add observations to one match at once, each request under a key of its own.

Arguments: address of the database, file with the pickled rulebook, club, match, names of the workers with commas
between, how many requests, observations a request; every request is sent twice. Each worker is a fork of the first
process, so that only one has to import everything.
"""

import os
import pickle
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from tacticapi.club import IdempotentRequest, Services, entries
from tacticapi.store import open_engine


def work(name: str) -> None:
    url, rules, club, match, _, requests, size = sys.argv[1:]
    adviser: Any = SimpleNamespace(rulebook=pickle.loads(Path(rules).read_bytes()))
    services = Services(open_engine(url), adviser)
    for request in range(int(requests)):
        refs = (f"{name}/{request}/{place}" for place in range(int(size)))
        bodies = [{"what": "serve.followed_to_net", "count": 1, "of": 2, "ref": ref} for ref in refs]
        once = IdempotentRequest.of(f"{name}/{request}", bodies)
        for _ in range(2):
            lines = entries.add_observations_in_bulk(services, club, match, bodies, once=once)
            assert all(line.receipt for line in lines)


if __name__ == "__main__":
    children = []
    for each in sys.argv[5].split(","):
        if (child := os.fork()) == 0:
            status = 1
            try:
                work(each)
                status = 0
            finally:
                os._exit(status)
        children.append(child)
    sys.exit(max(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children))
