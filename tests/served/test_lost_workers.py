"""A worker that dies of a request: its client is told to ask again, a repeat is answered, nothing kept is lost."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest
import requests

from ..api.front.documented import example, sections
from .running import SEEN, SITUATION, Service, running, until

FRAGILE = str(Path(__file__).with_name("fragile.py"))
TIMEOUT_S = 5


@dataclass
class Fragile:
    service: Service
    order: Path
    match: str

    def breaks(self, what: str) -> None:
        self.order.write_text(what)

    def seen(self) -> list[str]:
        return [entry["id"] for entry in self.service.get(f"{self.match}/observations?page_size=100").json()["items"]]


@pytest.fixture(scope="module")
def fragile(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Fragile]:
    folder = tmp_path_factory.mktemp("fragile")
    order = folder / "order"
    with running(folder, (FRAGILE,), FRAGILE=str(order), TACTICAPI_TIMEOUT=str(TIMEOUT_S)) as service:
        yield Fragile(service, order, service.match())


def told_to_ask_again(answer: requests.Response) -> None:
    assert answer.status_code == 503, answer.text
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.headers["Retry-After"] == "1"
    request = "GET /v1/matches/…/suggestions?moment=change-of-ends"
    shown = example(request, f"{answer.status_code} {answer.reason}", answer.headers, answer.content)
    assert shown.text() in sections()["worker-lost"], shown.text()


@pytest.mark.parametrize("what", ["crash", "hang", "loop"])
def test_a_worker_that_dies_while_it_advises_is_told_and_a_repeat_is_answered(fragile, what):
    service = fragile.service
    lost, kept = service.counted("tacticapi_requests_lost_total"), fragile.seen()
    kept.append(service.made(f"{fragile.match}/observations", SEEN)["id"])
    fragile.breaks(what)
    told_to_ask_again(service.get(f"{fragile.match}/suggestions?moment=change-of-ends"))
    assert until(lambda: service.get(f"{fragile.match}/suggestions?moment=change-of-ends").status_code == 200)
    assert fragile.seen() == kept
    assert service.counted("tacticapi_requests_lost_total") == lost + 1
    assert service.said("a worker died during a request")["level"] == "error"


def test_advice_that_keeps_nothing_is_healed_by_a_repeat_too_and_the_counts_go_on(fragile):
    service = fragile.service
    before = service.counted("tacticapi_requests_total")
    fragile.breaks("crash")
    told_to_ask_again(service.post("/v1/suggestions", SITUATION))
    assert until(lambda: service.post("/v1/suggestions", SITUATION).status_code == 200)
    assert service.counted("tacticapi_requests_total") >= before + 2


def test_who_waits_behind_it_on_a_kept_connection_is_told_too(fragile):
    service = fragile.service
    with requests.Session() as kept, ThreadPoolExecutor() as clients:
        assert kept.get(f"{service.address}/livez", timeout=30).headers["Connection"] == "keep-alive"
        fragile.breaks("hang")
        first = clients.submit(service.post, "/v1/suggestions", SITUATION)
        assert until(lambda: not fragile.order.exists())
        told_to_ask_again(kept.post(f"{service.address}/v1/suggestions", json=SITUATION, timeout=60))
        told_to_ask_again(first.result())
    assert until(lambda: service.post("/v1/suggestions", SITUATION).status_code == 200)


def test_what_was_committed_before_the_worker_died_is_not_done_twice(fragile):
    service, before, key = fragile.service, fragile.seen(), {"Idempotency-Key": "bench-7"}
    fragile.breaks("commit")
    told_to_ask_again(service.post(f"{fragile.match}/observations", SEEN, headers=key))
    again = service.post(f"{fragile.match}/observations", SEEN, headers=key)
    assert again.status_code == 201
    assert fragile.seen() == [*before, again.json()["id"]]
