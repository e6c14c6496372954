"""The client: everything that one service offers, what is kept of a club, and one match from warm-up to debrief."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from types import TracebackType
from typing import Any, Literal, Self, TypeVar, Unpack, overload

from tacticapi.client.advice import AdviceLine, GivenAdvice, LiveAdvice, Suggestion
from tacticapi.client.calculations import Stateless
from tacticapi.client.calls import Calls, Markdown, Page, Picture, read
from tacticapi.client.kept import (
    Debrief,
    Dossier,
    Entry,
    Feedback,
    Line,
    MatchRecord,
    MatchScore,
    Player,
    Receipt,
    Scored,
    lines_of,
    posts_of,
)
from tacticapi.client.questions import FeedbackKind, MatchFacts, MomentName, Qualifiers, ScoreNow, Seen, Side
from tacticapi.client.rulebook import Lookups

OBSERVATIONS, POINTS, TRIES = "observations", "points", "tries"
Posted = TypeVar("Posted", bound=Receipt)
MEMBERS = {OBSERVATIONS: "observation", POINTS: "point", TRIES: "tries"}
TIMEOUT_S = 30.0
RETRIES = 3


class Match:
    """A match of the club. Whatever adds an entry takes `key`, an idempotency key of your own, and makes one else."""

    def __init__(self, calls: Calls, record: MatchRecord) -> None:
        self._calls, self.record = calls, record
        self._path = f"/v1/matches/{record.id}"
        self._held: dict[tuple[Any, ...], tuple[str, LiveAdvice]] = {}

    @property
    def id(self) -> str:
        """Id of the match."""
        return self.record.id

    def __repr__(self) -> str:
        return f"<Match {self.id}, {self.record.status}>"

    # what happens

    def saw(
        self,
        what: str,
        count: int | None = None,
        *,
        of: int | None = None,
        key: str | None = None,
        **more: Unpack[Qualifiers],
    ) -> Receipt:
        """Add what was seen: `what` is an id of the vocabulary, `count` so many of the chances in `of`.

        Other ways of saying it are `rating`, `value`, `amount`, `seen` and `counts`; qualifiers are `wing`, `court`,
        `serve`, `end`, `set`, `game`; `by`, `note` and `ref` are kept beside it.
        """
        return self._add(Receipt, OBSERVATIONS, {"what": what, "count": count, "of": of, **more}, key)

    def saw_many(self, seen: Iterable[Seen | Mapping[str, Any]]) -> list[Line]:
        """Add many: each good one is added, and each is answered by a line with its receipt or its faults."""
        lines: list[Line] = []
        for posts in posts_of(seen):
            body = "\n".join(json.dumps(post, ensure_ascii=False) for post in posts)
            answer = self._calls.add_text(f"{self._path}/{OBSERVATIONS}", body, "application/jsonl")
            lines += lines_of(answer["items"], posts, before=len(lines))
        return lines

    def point(self, winner: Side, *, own_error: bool | None = None, key: str | None = None) -> Scored:
        """Add who won the next point; `own_error`: whether an own unforced error lost it."""
        return self._add(Scored, POINTS, {"winner": winner, "own_error": own_error}, key)

    def set_score(self, *, key: str | None = None, **score: Unpack[ScoreNow]) -> Scored:
        """Set the score by hand, where points were missed: `sets`, `games`, `points`, `server`."""
        return self._add(Scored, POINTS, {"score": score}, key)

    def tried(self, tactic: str | Suggestion, tried: int, *, won: int, key: str | None = None) -> Receipt:
        """Add in how many points a tactic was played as meant, and how many of them were won."""
        return self._add(Receipt, TRIES, {"tactic": _id(tactic), "tried": tried, "won": won}, key)

    def correct(self, entry: Receipt, *, key: str | None = None, **changes: Any) -> Receipt:
        """Put another entry in the place of one: as it was posted, but for these changes; None leaves a name out."""
        posted = {**(entry.posted or {}), **changes, "supersedes": entry.id}
        return self._add(Scored if entry.noun == POINTS else Receipt, entry.noun, posted, key)

    def withdraw(self, entry: Receipt, *, key: str | None = None) -> Receipt:
        """Take an entry back; the history stays."""
        return self._add(Scored if entry.noun == POINTS else Receipt, entry.noun, {"withdraws": entry.id}, key)

    # what to do

    def advice(self, moment: MomentName, *, limit: int | None = None, minutes_left: int | None = None) -> LiveAdvice:
        """Advice from everything that is kept. Cheap to poll: while nothing has changed, it is the same object."""
        query = {"moment": moment, "limit": limit, "minutes_left": minutes_left}
        asked = tuple(query.values())
        tag, advice = self._held.get(asked, (None, None))
        response = self._calls.get(f"{self._path}/suggestions", query, held=tag)
        if response.status_code == 304 and advice is not None:
            return advice
        advice = read(LiveAdvice, response.json())
        self._held[asked] = (response.headers.get("ETag", ""), advice)
        return advice

    def feedback(
        self,
        advice: LiveAdvice,
        tactic: str | Suggestion,
        kind: FeedbackKind = "used",
        *,
        reason: str | None = None,
        key: str | None = None,
    ) -> Feedback:
        """Tell what became of a suggestion; `reason` says why it was not used, or how it turned out."""
        body = {"tactic": _id(tactic), "kind": kind, "reason": reason}
        return read(Feedback, self._calls.add(f"/v1/advice/{advice.advice_id}/feedback", body, key=key))

    # what is kept

    def score(self) -> MatchScore:
        """The score that the points make."""
        return read(MatchScore, self._calls.read(f"{self._path}/score"))

    def entries(self, noun: Literal["observations", "points", "tries"]) -> Iterator[Entry]:
        """The entries of one sort in the order in which they were added, superseded ones included."""
        for item in self._calls.pages(f"{self._path}/{noun}"):
            yield replace(read(Entry, item), noun=noun, posted=item[MEMBERS[noun]])

    def given(self) -> Iterator[AdviceLine]:
        """The advice that was given, oldest first; `client.given_advice(line.advice_id)` says what it said."""
        return (read(AdviceLine, item) for item in self._calls.pages(f"{self._path}/advice"))

    def told(self) -> Iterator[Feedback]:
        """The feedback on the advice of this match, oldest first."""
        return (read(Feedback, item) for item in self._calls.pages(f"{self._path}/feedback"))

    def sheet(self, noun: Literal["observations", "points"]) -> str:
        """The entries that stand, as CSV for a spreadsheet."""
        return self._calls.text(f"{self._path}/{noun}.csv", accept="text/csv")

    @overload
    def debrief(self, *, format: Literal["json"] = "json") -> Debrief: ...
    @overload
    def debrief(self, *, format: Literal["markdown"]) -> Markdown: ...
    @overload
    def debrief(self, *, format: Literal["html"]) -> Page: ...
    def debrief(self, *, format: str = "json") -> Debrief | Markdown | Page:
        """What the match leaves to learn, once it has ended: as data, as Markdown, or as a page with its pictures."""
        path = f"{self._path}/debrief"
        if format == "json":
            return read(Debrief, self._calls.read(path))
        text = self._calls.text(path, accept=f"text/{format}")
        return Page(text) if format == "html" else Markdown(text)

    def picture(
        self,
        name: Literal["win-curve", "beliefs", "serve-spots"],
        *,
        moment: MomentName | None = None,
        limit: int | None = None,
        serve: Literal["first", "second"] | None = None,
    ) -> Picture:
        """A picture of the match. `limit` is for beliefs, `serve` for serve spots; NotFound while nothing is kept."""
        query = {"moment": moment, "limit": limit, "serve": serve}
        return Picture(self._calls.text(f"{self._path}/pictures/{name}", query, accept="image/svg+xml"))

    def card(self, *, moment: MomentName | None = None) -> Page:
        """The plan card to print, made before the match where no other moment is named."""
        return Page(self._calls.text(f"{self._path}/card", {"moment": moment}, accept="text/html"))

    # the match itself

    def change(self, **facts: Unpack[MatchFacts]) -> "Match":
        """Change what is known of the match, as it is now."""
        path = self._path
        version = self._calls.get(path).headers["ETag"]
        self.record = read(MatchRecord, self._calls.once("PATCH", path, match_body(facts), version=version).json())
        return self

    def with_facts(self, **facts: Unpack[MatchFacts]) -> "Match":
        """The match, changed where these facts differ from what is kept."""
        kept = self.record.raw
        differ = any(kept.get(name) != value for name, value in match_body(facts).items() if name != "started_at")
        return self.change(**facts) if differ else self

    def end(self) -> MatchRecord:
        """End the match: it takes no more points or tries, and its health items go for good."""
        self.record = read(MatchRecord, self._calls.once("POST", f"{self._path}/end").json())
        return self.record

    def _add(self, shape: type[Posted], noun: str, posted: Mapping[str, Any], key: str | None) -> Posted:
        given = {name: value for name, value in posted.items() if value is not None}
        answer = read(shape, self._calls.add(f"{self._path}/{noun}", given, key=key))
        return replace(answer, noun=noun, posted=_unlinked(given))


def match_body(facts: MatchFacts) -> dict[str, Any]:
    """Facts of a match under the names of the service."""
    names = {"own_facts": "own", "opponent_facts": "opponent"}
    return {names.get(name, name): _plain(value) for name, value in facts.items() if value is not None}


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value


def _id(tactic: str | Suggestion) -> str:
    return tactic.tactic if isinstance(tactic, Suggestion) else tactic


def _unlinked(posted: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in posted.items() if name not in ("supersedes", "withdraws")}


class Keeping:
    """What needs a token, or a service that only its own machine reaches."""

    _calls: Calls

    def player(self, side: Side, label: str, *, facts: Mapping[str, Any] | None = None) -> Player:
        """The player with this nickname or code, made where there is none. Facts that differ are put in their place."""
        found = next(self.players(side=side, label=label), None)
        if found is None:
            body = {"side": side, "label": label} | ({"facts": facts} if facts is not None else {})
            return read(Player, self._calls.add("/v1/players", body))
        return found if facts is None or facts == found.facts else self.change_player(found, facts=facts)

    def players(self, *, side: Side | None = None, label: str | None = None) -> Iterator[Player]:
        """The players of the club and their opponents, in the order in which they were made."""
        return (read(Player, item) for item in self._calls.pages("/v1/players", {"side": side, "label": label}))

    def change_player(
        self, player: Player, *, label: str | None = None, facts: Mapping[str, Any] | None = None
    ) -> Player:
        """The player as changed; facts replace all facts before. Raises ChangedMeanwhile where `player` is outdated."""
        changes = {name: value for name, value in (("label", label), ("facts", facts)) if value is not None}
        answer = self._calls.once("PATCH", f"/v1/players/{player.id}", changes, version=f'"{player.version}"')
        return read(Player, answer.json())

    def erase_player(self, player_id: str) -> None:
        """Erase a player for good, with everything that names them."""
        self._calls.once("DELETE", f"/v1/players/{player_id}")

    @overload
    def dossier(self, player_id: str, *, surface: str | None = None, format: Literal["json"] = "json") -> Dossier: ...
    @overload
    def dossier(self, player_id: str, *, surface: str | None = None, format: Literal["markdown"]) -> Markdown: ...
    def dossier(self, player_id: str, *, surface: str | None = None, format: str = "json") -> Dossier | Markdown:
        """What all matches against an opponent taught, as data or as Markdown."""
        path, query = f"/v1/players/{player_id}/dossier", {"surface": surface}
        if format == "markdown":
            return Markdown(self._calls.text(path, query, accept="text/markdown"))
        return read(Dossier, self._calls.read(path, query))

    def match(
        self,
        match_id: str | None = None,
        *,
        own: str | Player | None = None,
        opponent: str | Player | None = None,
        new: bool = False,
        **facts: Unpack[MatchFacts],
    ) -> Match:
        """A match to work on: the one with this id, or the open one of these two players, made where there is none.

        Players are named by label (made where they are new) or given as Player. `new` makes a match even where one
        is open. Facts (`context`, `own_facts`, `opponent_facts`, `first_server`, `started_at`) that differ from what
        is kept are put in their place.
        """
        if match_id is not None:
            return Match(self._calls, read(MatchRecord, self._calls.read(f"/v1/matches/{match_id}"))).with_facts(
                **facts
            )
        if own is None or opponent is None:
            raise TypeError("name the match by its id, or both players")
        ids = {"own_id": self._known("own", own).id, "opponent_id": self._known("opponent", opponent).id}
        if not new and (open_one := next(self.matches(status="open", **ids), None)):
            return Match(self._calls, open_one).with_facts(**facts)
        made = self._calls.add("/v1/matches", {**ids, **match_body(facts)})
        return Match(self._calls, read(MatchRecord, made))

    def matches(
        self,
        *,
        own_id: str | None = None,
        opponent_id: str | None = None,
        status: Literal["open", "ended"] | None = None,
    ) -> Iterator[MatchRecord]:
        """The matches of the club, in the order in which they were made."""
        query = {"own_id": own_id, "opponent_id": opponent_id, "status": status}
        return (read(MatchRecord, item) for item in self._calls.pages("/v1/matches", query))

    def given_advice(self, advice_id: str) -> GivenAdvice:
        """Advice as it was given, with what it rested on."""
        return read(GivenAdvice, self._calls.read(f"/v1/advice/{advice_id}"))

    def _known(self, side: Side, player: str | Player) -> Player:
        return player if isinstance(player, Player) else self.player(side, player)


class Client(Stateless, Lookups, Keeping):
    """A service at an address, opened by the token of a club.

    `timeout` is in seconds. `retries` is how often a call is repeated that may be: one that changes nothing, and an
    addition, which carries an idempotency key. Between tries it waits longer each time, or as the service asks.
    Every failure is a ClientError. Give each thread a client of its own.
    """

    def __init__(
        self, url: str, token: str | None = None, *, timeout: float = TIMEOUT_S, retries: int = RETRIES
    ) -> None:
        self._calls = Calls(url, token, timeout=timeout, retries=retries)

    def __repr__(self) -> str:
        return f"Client({self._calls.url!r})"

    def close(self) -> None:
        """Let go of the connections; `with Client(...) as client:` does it at its end."""
        self._calls.session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
