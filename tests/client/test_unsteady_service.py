"""A service that is busy, breaks off or talks nonsense: what may be repeated is, the rest is told to the caller."""

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import pytest

from tacticapi.client import BrokenAnswer, Client, Match, Problem, Unavailable, Unreachable

from .conftest import Reply, Unsteady

RECEIPT = {"id": "e1", "sequence": 1, "recorded_at": "2026-05-01T09:00:00Z"}
MATCH = {"id": "m1", "status": "open", "version": 1, "started_at": "2026-05-01T09:00:00Z"}
BUSY = Reply(503, {"title": "The database cannot be used now", "status": 503}, {"Retry-After": "0"})


@pytest.fixture(autouse=True)
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The waits in seconds, not waited for."""
    waited: list[float] = []
    monkeypatch.setattr("tacticapi.client.calls.time.sleep", waited.append)
    return waited


@pytest.fixture
def client(unsteady: Unsteady) -> Client:
    return Client(unsteady.address, "a-token", timeout=5)


@pytest.fixture
def match(client: Client) -> Match:
    return Match(client._calls, dict(MATCH))


def test_a_question_is_asked_again_after_the_wait_that_the_service_names(client, unsteady, waits):
    at = format_datetime(datetime.now(UTC) + timedelta(seconds=20), usegmt=True)
    named = [Reply(status, {}, {"Retry-After": wait}) for status, wait in ((503, "7"), (429, "2"), (503, at))]
    unsteady.gives(*named, Reply(body={"moment": "set-break"}))
    assert client.suggest({"moment": "set-break"})["moment"] == "set-break"
    assert waits[:2] == [7.0, 2.0]
    assert 15 < waits[2] <= 20


def test_without_a_named_wait_each_wait_is_longer(client, unsteady, waits):
    unsteady.gives(Reply(502), Reply(504), Reply(503, {}, {"Retry-After": "soon"}), Reply(body={"version": "1"}))
    client.rulebook()
    assert 0.25 <= waits[0] <= 0.5 <= waits[1] <= 1.0 <= waits[2] <= 2.0


@pytest.mark.parametrize("lost", [Reply(drop=True), Reply(body={"version": "1"}, cut=True)])
def test_a_question_is_asked_again_when_the_line_breaks(client, unsteady, lost):
    unsteady.gives(lost, Reply(body={"version": "9"}))
    assert client.rulebook()["version"] == "9"


def test_an_entry_is_sent_again_under_the_same_key_and_each_has_its_own(match, unsteady):
    unsteady.gives(BUSY, Reply(drop=True), *[Reply(201, RECEIPT)] * 3)
    assert match.saw("warmup.middle_ball_on_forehand", 7, of=8)["sequence"] == 1
    match.point("own")
    match.point("own", key="point-3")
    *sent, second, third = (headers["Idempotency-Key"] for _, _, headers in unsteady.asked)
    assert (len(sent), len(set(sent))) == (3, 1)
    assert second not in sent
    assert third == "point-3"


@pytest.mark.parametrize("reply", [BUSY, Reply(429)])
def test_a_change_is_never_sent_twice(match, unsteady, reply, waits):
    unsteady.gives(Reply(200, MATCH, {"ETag": '"1"'}), reply, Reply(200, MATCH))
    with pytest.raises(Unavailable):
        match.change(first_server="own")
    assert [method for method, _, _ in unsteady.asked] == ["GET", "PATCH"]
    assert unsteady.asked[1][2]["If-Match"] == '"1"'
    assert waits == []


def test_an_end_whose_answer_is_lost_is_told_and_not_repeated(match, unsteady):
    unsteady.gives(Reply(drop=True), Reply(200, MATCH))
    with pytest.raises(Unreachable, match="the response was incomplete"):
        match.end()
    assert len(unsteady.asked) == 1


def test_patience_has_an_end_and_a_very_long_wait_is_left_to_the_caller(unsteady, waits):
    for wait, retried in (("0", 1), ("3600", 0)):
        unsteady.gives(*[Reply(503, {}, {"Retry-After": wait})] * 3)
        waits.clear()
        with pytest.raises(Unavailable) as told:
            Client(unsteady.address, retries=1).rulebook()
        assert (len(waits), told.value.retry_after) == (retried, float(wait))


@pytest.mark.parametrize("reply", [Reply(body=b'{"version": '), Reply(body=b"<html>Log in</html>"), Reply(body=[1, 2])])
def test_an_answer_that_is_not_the_services_is_told_as_such(client, unsteady, reply):
    unsteady.gives(reply)
    with pytest.raises(BrokenAnswer):
        client.rulebook()


@pytest.mark.parametrize("body", [{"version": "1"}, {"items": 7}])
def test_a_list_that_is_none_is_told_as_such(client, unsteady, body):
    unsteady.gives(Reply(body=body))
    with pytest.raises(BrokenAnswer, match="without a list of items"):
        next(client.traits())


def test_where_nothing_was_seen_nothing_is_sent(match, unsteady):
    assert match.saw_many([]) == unsteady.asked == []
    assert repr(match) == "<Match m1, open>"


def test_a_failure_without_a_problem_document_is_still_a_problem(client, unsteady):
    unsteady.gives(Reply(500, b"<html>broken</html>", {"X-Request-ID": "r-1"}))
    with pytest.raises(Problem, match=r"500 HTTP status 500\nrequest r-1"):
        client.rulebook()


def test_a_move_to_another_address_is_not_followed_with_the_token(client, unsteady):
    unsteady.gives(Reply(302, {}, {"Location": "http://127.0.0.1:1/elsewhere"}))
    with pytest.raises(Problem):
        client.rulebook()
    assert len(unsteady.asked) == 1


def test_the_token_goes_with_every_call_and_into_no_error(client, unsteady):
    unsteady.gives(Reply(401, {"title": "No", "status": 401}))
    with pytest.raises(Problem) as told:
        client.rulebook()
    assert unsteady.asked[0][2]["Authorization"] == "Bearer a-token"
    assert "a-token" not in f"{told.value!r}{told.value}{client!r}"


def test_without_a_token_no_password_of_the_machine_is_sent(unsteady, tmp_path, monkeypatch):
    passwords = tmp_path / "netrc"
    passwords.write_text("machine 127.0.0.1 login someone password secret\n", encoding="utf-8")
    monkeypatch.setenv("NETRC", str(passwords))
    unsteady.gives(Reply(body={"version": "1"}))
    Client(unsteady.address).rulebook()
    assert "Authorization" not in unsteady.asked[0][2]


def test_a_list_is_fetched_by_its_links_and_only_as_far_as_it_is_read(client, unsteady):
    unsteady.gives(
        Reply(body={"items": [{"id": "a"}, {"id": "b"}]}, headers={"Link": '</v1/traits?cursor=b>; rel="next"'}),
        Reply(body={"items": [{"id": "c"}]}),
    )
    traits = client.traits()
    assert [next(traits)["id"], next(traits)["id"]] == ["a", "b"]
    assert len(unsteady.asked) == 1
    assert next(traits)["id"] == "c"
    assert unsteady.asked[1][1] == "/v1/traits?cursor=b"
