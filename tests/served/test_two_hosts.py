"""Two services on one PostgreSQL database behind a balancer that gives each request to the other one."""

from collections.abc import Iterator
from itertools import cycle

import pytest

from tacticapi.seeds import demo_situation
from tacticapi.store import upgrade

from ..databases import shared_server
from .running import Service, running

SEEN = demo_situation("after-match")["observations"][:20]


@pytest.fixture(scope="module")
def balancer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Iterator[Service]]:
    """Names the host that gets the next request."""
    url = shared_server().new_database()
    upgrade(url)
    folders = [tmp_path_factory.mktemp(name) for name in ("one", "two")]
    with running(folders[0], DATABASE_URL=url) as one, running(folders[1], DATABASE_URL=url) as two:
        yield cycle([one, two])


def test_a_match_is_kept_and_advised_on_whichever_host_answers(balancer):
    match = next(balancer).match()
    posted = [next(balancer).made(f"{match}/observations", seen)["id"] for seen in SEEN]
    for host in (next(balancer), next(balancer)):
        assert [entry["id"] for entry in host.get(f"{match}/observations?page_size=100").json()["items"]] == posted
    address = f"{match}/suggestions?moment=change-of-ends"
    advice = [next(balancer).get(address) for _ in range(4)]
    assert len({answer.json()["advice_id"] for answer in advice}) == 1
    (tag,) = {answer.headers["ETag"] for answer in advice}
    assert next(balancer).get(address, headers={"If-None-Match": tag}).status_code == 304


def test_a_repeat_that_reaches_the_other_host_is_done_once(balancer):
    key, player = {"Idempotency-Key": "bench-7"}, {"side": "own", "label": "Elm"}
    first, second = (next(balancer).post("/v1/players", player, headers=key) for _ in range(2))
    assert (first.status_code, first.json()) == (201, second.json())
