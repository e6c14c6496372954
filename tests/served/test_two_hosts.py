"""Two services on one PostgreSQL database behind a balancer that gives each request to the other one."""

from collections.abc import Iterator
from itertools import cycle
from typing import Any

import pytest
import requests

from tacticapi.seeds import demo_situation
from tacticapi.store import upgrade

from ..databases import shared_server
from .running import Service, running


class Balancer:
    """Gives every request to the next host."""

    def __init__(self, hosts: list[Service]) -> None:
        self.hosts = cycle(hosts)

    def get(self, path: str, **headers: str) -> requests.Response:
        return next(self.hosts).get(path, headers=headers)

    def post(self, path: str, body: Any, **headers: str) -> requests.Response:
        return next(self.hosts).post(path, body, headers=headers)

    def made(self, path: str, body: Any, **headers: str) -> Any:
        answer = self.post(path, body, **headers)
        assert answer.status_code == 201, answer.text
        return answer.json()


@pytest.fixture(scope="module")
def balancer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Balancer]:
    url = shared_server().new_database()
    upgrade(url)
    folders = [tmp_path_factory.mktemp(name) for name in ("one", "two")]
    with running(folders[0], DATABASE_URL=url) as one, running(folders[1], DATABASE_URL=url) as two:
        yield Balancer([one, two])


def test_a_match_is_kept_and_advised_on_whichever_host_answers(balancer: Balancer) -> None:
    demo = demo_situation("after-match")
    ids = {
        f"{side}_id": balancer.made("/v1/players", {"side": side, "label": label})["id"]
        for side, label in (("own", "Larch"), ("opponent", "Sleet"))
    }
    match = f"/v1/matches/{balancer.made('/v1/matches', {**ids, 'context': demo['context']})['id']}"
    posted = [balancer.made(f"{match}/observations", seen)["id"] for seen in demo["observations"][:20]]
    for _ in range(2):  # an even and an odd number of requests, so that each host is asked for each thing
        listed = balancer.get(f"{match}/observations?page_size=100").json()["items"]
        assert [entry["id"] for entry in listed] == posted
        balancer.get("/livez")
    advice = [balancer.get(f"{match}/suggestions?moment=change-of-ends") for _ in range(4)]
    assert len({answer.json()["advice_id"] for answer in advice}) == 1
    assert len({answer.headers["ETag"] for answer in advice}) == 1
    assert (
        balancer.get(
            f"{match}/suggestions?moment=change-of-ends", **{"If-None-Match": advice[0].headers["ETag"]}
        ).status_code
        == 304
    )


def test_a_repeat_that_reaches_the_other_host_is_done_once(balancer: Balancer) -> None:
    player = {"side": "own", "label": "Elm"}
    first, second = (balancer.made("/v1/players", player, **{"Idempotency-Key": "bench-7"}) for _ in range(2))
    assert first == second
