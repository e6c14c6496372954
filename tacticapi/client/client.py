"""Everything that one service offers, what is kept of a club, and one match from warm-up to debrief.

Methods answer with plain mappings, as JSON gives them. A name in backticks after "as" is a schema of the contract.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, Literal, Self, overload

from tacticapi.client.calls import Calls, Json, body_of, given, items_of
from tacticapi.client.shown import Advice, Markdown, Page, Picture

LINES = 200  # in a post of at most 1 MiB, as a valid observation has at most 5 kB
POSTED = {"observations": "observation", "points": "point", "tries": "tries"}
LINKS = ("supersedes", "withdraws")
SVG = "image/svg+xml"

Side = Literal["own", "opponent"]
Moment = Literal["before-match", "after-warm-up", "between-points", "change-of-ends", "set-break", "after-match"]
Part = Literal["beliefs", "profile", "held_back", "unused", "explanations"]
CourtQuestion = Literal["court-position", "gap", "shot-margin"]
Calculation = Literal["win-chance", "importance", "serve-mix", CourtQuestion]
Noun = Literal["observations", "points", "tries"]


class Entry(dict[str, Any]):
    """An entry of a match as JSON gives it. `noun` and `posted`, what it says, let it be corrected."""

    def __init__(self, answer: Mapping[str, Any], noun: Noun, posted: Mapping[str, Any] | None) -> None:
        super().__init__(answer)
        self.noun, self.posted = noun, posted


class Match:
    """A match of the club; `record` is its `Match` as last read. `key` is an idempotency key, made if there is none."""

    def __init__(self, calls: Calls, record: Json) -> None:
        self._calls, self.record = calls, record
        self._path = f"/v1/matches/{record['id']}"
        self._held: dict[tuple[Any, ...], tuple[str | None, Advice]] = {}

    @property
    def id(self) -> str:
        """Return the id of the match."""
        return str(self.record["id"])

    def __repr__(self) -> str:
        return f"<Match {self.id}, {self.record['status']}>"

    def saw(
        self, what: str, count: int | None = None, *, of: int | None = None, key: str | None = None, **more: Any
    ) -> Entry:
        """Add what was seen, as `Receipt`: `what` is an id of the vocabulary, `count` is out of the chances in `of`.

        Instead of a count, give `rating`, `value`, `amount`, `seen` or `counts`. Keywords are members of `Observation`.
        """
        return self._add("observations", {"what": what, "count": count, "of": of, **more}, key)

    def saw_many(self, seen: Iterable[Mapping[str, Any]]) -> list[Entry]:
        """Add many observations. Each is answered as `LineResult`: added, with its id, or not, with its `errors`."""
        posted, entries = [given(one) for one in seen], list[Entry]()
        for start in range(0, len(posted), LINES):
            lines = "\n".join(json.dumps(one, ensure_ascii=False) for one in posted[start : start + LINES])
            for answer in items_of(self._calls.add(f"{self._path}/observations", lines)):
                line = start + answer["line"]
                entries.append(Entry({**answer, "line": line}, "observations", posted[line - 1]))
        return entries

    def point(self, winner: Side, *, own_error: bool | None = None, key: str | None = None) -> Entry:
        """Add who won the next point, as `Scored`; `own_error` says whether an own unforced error lost it."""
        return self._add("points", {"winner": winner, "own_error": own_error}, key)

    def set_score(self, *, key: str | None = None, **score: Any) -> Entry:
        """Set the score by hand if points were missed, as `Scored`. Keywords are members of `Score`."""
        return self._add("points", {"score": score}, key)

    def tried(self, tactic: str | Mapping[str, Any], tried: int, *, won: int, key: str | None = None) -> Entry:
        """Add in how many points a tactic, or suggestion, was played as meant and how many were won, as `Receipt`."""
        return self._add("tries", {"tactic": _tactic_id(tactic), "tried": tried, "won": won}, key)

    def correct(self, entry: Entry, *, key: str | None = None, **changes: Any) -> Entry:
        """Replace an entry by what was posted with these changes; None leaves a name out."""
        return self._add(entry.noun, {**(entry.posted or {}), **changes, "supersedes": entry["id"]}, key)

    def withdraw(self, entry: Entry, *, key: str | None = None) -> Entry:
        """Take an entry back; the history stays."""
        return self._add(entry.noun, {"withdraws": entry["id"]}, key)

    def advice(
        self, moment: Moment, *, limit: int | None = None, minutes_left: int | None = None, include: Iterable[Part] = ()
    ) -> Advice:
        """Return advice from everything that is kept, as `LiveAdvice`. While nothing changes, it is the same object."""
        whole, path = _listed(include), f"{self._path}/suggestions"
        asked = (moment, limit, minutes_left, whole)
        tag, advice = self._held.get(asked, (None, None))
        query: Json = {"moment": moment, "limit": limit, "minutes_left": minutes_left, "include": whole}
        response = self._calls.get(path, held=tag, **query)
        if response.status_code == 304 and advice is not None:
            return advice
        advice = Advice(body_of(response))
        self._held[asked] = (response.headers.get("ETag"), advice)
        return advice

    def feedback(
        self,
        advice: Mapping[str, Any],
        tactic: str | Mapping[str, Any],
        kind: Literal["used", "not-used", "outcome"] = "used",
        *,
        reason: str | None = None,
        key: str | None = None,
    ) -> Json:
        """Add what became of a suggestion, as `Feedback`; `reason` says why it was not used, or how it turned out."""
        body = {"tactic": _tactic_id(tactic), "kind": kind, "reason": reason}
        return body_of(self._calls.add(f"/v1/advice/{advice['advice_id']}/feedback", body, key=key))

    def score(self) -> Json:
        """Return the score that the points make, as `MatchScore`."""
        return self._calls.read(f"{self._path}/score")

    def entries(self, noun: Noun) -> Iterator[Entry]:
        """Yield the entries of one sort, oldest first, as `KeptObservation`, `KeptPoint` or `KeptTries`."""
        return (Entry(item, noun, item.get(POSTED[noun])) for item in self._calls.pages(f"{self._path}/{noun}"))

    def given(self) -> Iterator[Json]:
        """Yield when advice was given, oldest first, as `AdviceLine`; `Client.given_advice` returns what it said."""
        return self._calls.pages(f"{self._path}/advice")

    def told(self) -> Iterator[Json]:
        """Yield the feedback on the advice of this match, oldest first, as `Feedback`."""
        return self._calls.pages(f"{self._path}/feedback")

    @overload
    def debrief(self, *, format: Literal["json"] = "json") -> Json: ...
    @overload
    def debrief(self, *, format: Literal["markdown"]) -> Markdown: ...
    @overload
    def debrief(self, *, format: Literal["html"]) -> Page: ...
    def debrief(self, *, format: str = "json") -> Json | Markdown | Page:
        """Return what an ended match leaves to learn: as `Debrief`, as Markdown, or as a page with its pictures."""
        path = f"{self._path}/debrief"
        if format == "json":
            return self._calls.read(path)
        text = self._calls.text(path, accept=f"text/{format}")
        return Page(text) if format == "html" else Markdown(text)

    def picture(
        self,
        name: Literal["win-curve", "beliefs", "serve-spots"],
        *,
        moment: Moment | None = None,
        limit: int | None = None,
        serve: Literal["first", "second"] | None = None,
    ) -> Picture:
        """Draw the match. `limit` is for beliefs, `serve` for serve spots. Raises NotFound while nothing is kept."""
        path = f"{self._path}/pictures/{name}"
        return Picture(self._calls.text(path, accept=SVG, moment=moment, limit=limit, serve=serve))

    def card(self, *, moment: Moment | None = None) -> Page:
        """Return the plan card to print, made for before the match if no moment is named."""
        return Page(self._calls.text(f"{self._path}/card", accept="text/html", moment=moment))

    def change(self, **facts: Any) -> Self:
        """Change `context`, `own_facts`, `opponent_facts`, `first_server` or `started_at` of the match as it is now.

        Each object is merged into what is kept.
        """
        version = self._calls.get(self._path).headers["ETag"]
        self.record = body_of(self._calls.once("PATCH", self._path, _match_body(facts), version=version))
        return self

    def with_facts(self, **facts: Any) -> Self:
        """Change the match if these facts differ from what is kept."""
        posted = _match_body(facts)
        differ = any(self.record.get(name) != value for name, value in posted.items() if name != "started_at")
        return self.change(**facts) if differ else self

    def end(self) -> Json:
        """End the match and return its `Match`: it takes no more points or tries, and its health items are erased."""
        self.record = body_of(self._calls.once("POST", f"{self._path}/end"))
        return self.record

    def _add(self, noun: Noun, members: Mapping[str, Any], key: str | None) -> Entry:
        body = given(members)
        answer = body_of(self._calls.add(f"{self._path}/{noun}", body, key=key))
        return Entry(answer, noun, {name: value for name, value in body.items() if name not in LINKS})


class Client:
    """A service at an address, opened by the token of a club.

    `timeout` is in seconds. `retries` is how often a call is repeated that may be: one that changes nothing, and an
    addition, which carries an idempotency key. Between tries it waits longer each time, or as the service asks.
    Every failure is a ClientError. Give each thread a client of its own.
    """

    def __init__(self, url: str, token: str | None = None, *, timeout: float = 30.0, retries: int = 3) -> None:
        self._calls = Calls(url, token, timeout=timeout, retries=retries)

    def __repr__(self) -> str:
        return f"Client({self._calls.url!r})"

    def close(self) -> None:
        """Close the connections; `with Client(...) as client:` does it at its end."""
        self._calls.session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self.close()

    def suggest(self, situation: Mapping[str, Any], *, include: Iterable[Part] = ()) -> Advice:
        """Return advice on a situation (`Situation`), as `Advice`. `include` names the parts that are wanted too."""
        return Advice(body_of(self._calls.ask("/v1/suggestions", situation, include=_listed(include))))

    def explain(self, situation: Mapping[str, Any], *, tactic: str | None = None) -> Advice:
        """Explain the same advice, as `Explanation`, and why this tactic (without one: each) was suggested or not."""
        return Advice(body_of(self._calls.ask("/v1/explanations", situation, tactic=tactic)))

    def calculate(self, name: Calculation, **question: Any) -> Json:
        """Return a calculation, such as `WinChance` for `win-chance`. Keywords are members of its question.

        For instance of `WinChanceQuestion`, `ServeMixQuestion` or `GapQuestion`.
        """
        return body_of(self._calls.ask(f"/v1/calculations/{name}", question))

    def court_picture(self, name: CourtQuestion, question: Mapping[str, Any]) -> Picture:
        """Draw the answer to a question about the court."""
        response = self._calls.ask(f"/v1/calculations/{name}", question, accept=SVG)
        return Picture(response.content.decode(errors="replace"))

    def vocabulary(self, *, subject: str | None = None, phase: str | None = None) -> Iterator[Json]:
        """Yield every kind of observation, with its question and the ways to say it, as `Kind`."""
        return self._calls.pages("/v1/vocabulary", subject=subject, phase=phase)

    def traits(self) -> Iterator[Json]:
        """Yield every trait that an opponent may have, with what moves the belief, as `Trait`."""
        return self._calls.pages("/v1/traits")

    def tactics(
        self, *, category: str | None = None, status: str | None = None, risk: str | None = None
    ) -> Iterator[Json]:
        """Yield every tactic with its conditions and sources, as `Tactic`."""
        return self._calls.pages("/v1/tactics", category=category, status=status, risk=risk)

    def tactic(self, tactic: str) -> Json:
        """Return one tactic by its id, as `Tactic`. Raises NotFound."""
        return self._calls.read(f"/v1/tactics/{tactic}")

    def tactic_picture(self, tactic: str) -> Picture:
        """Draw where a tactic happens on the court. Raises NotFound if it has no place."""
        return Picture(self._calls.text(f"/v1/tactics/{tactic}/picture", accept=SVG))

    def sources(self) -> Iterator[Json]:
        """Yield every publication that a fact of the rules rests on, as `Source`."""
        return self._calls.pages("/v1/sources")

    def rulebook(self) -> Json:
        """Return version, counts, categories, limits by moment and every default, as `Rulebook`."""
        return self._calls.read("/v1/rulebook")

    def ready(self) -> Json:
        """Return whether the service can advise, and by which rules, as `Ready`. Raises Unavailable if it cannot."""
        return self._calls.read("/readyz")

    def player(self, side: Side, label: str, *, facts: Mapping[str, Any] | None = None) -> Json:
        """Return the player with this nickname or code, as `Player`. Makes a missing one, and changes other facts."""
        found = next(self.players(side=side, label=label), None)
        if found is None:
            return body_of(self._calls.add("/v1/players", given({"side": side, "label": label, "facts": facts})))
        same = all(found["facts"].get(name) == value for name, value in (facts or {}).items())
        return found if same else self.change_player(found, facts=facts)

    def players(self, *, side: Side | None = None, label: str | None = None) -> Iterator[Json]:
        """Yield the players of the club and their opponents, in the order in which they were made, as `Player`."""
        return self._calls.pages("/v1/players", side=side, label=label)

    def change_player(
        self, player: Mapping[str, Any], *, label: str | None = None, facts: Mapping[str, Any] | None = None
    ) -> Json:
        """Merge changes into a player, as `Player`; None takes a fact away. Raises ChangedMeanwhile if outdated."""
        changes, version = given({"label": label, "facts": facts}), f'"{player["version"]}"'
        return body_of(self._calls.once("PATCH", f"/v1/players/{player['id']}", changes, version=version))

    def erase_player(self, player_id: str) -> None:
        """Erase a player for good, with everything that names them."""
        self._calls.once("DELETE", f"/v1/players/{player_id}")

    @overload
    def dossier(self, player_id: str, *, surface: str | None = None, format: Literal["json"] = "json") -> Json: ...
    @overload
    def dossier(self, player_id: str, *, surface: str | None = None, format: Literal["markdown"]) -> Markdown: ...
    def dossier(self, player_id: str, *, surface: str | None = None, format: str = "json") -> Json | Markdown:
        """Return what all matches against an opponent taught, as `Dossier` or as Markdown."""
        path = f"/v1/players/{player_id}/dossier"
        if format == "markdown":
            return Markdown(self._calls.text(path, accept="text/markdown", surface=surface))
        return self._calls.read(path, surface=surface)

    def match(
        self,
        match_id: str | None = None,
        *,
        own: str | Mapping[str, Any] | None = None,
        opponent: str | Mapping[str, Any] | None = None,
        new: bool = False,
        **facts: Any,
    ) -> Match:
        """Return the match with this id, or the open one of these two players, making a missing one.

        Name players by label (a missing one is made) or give a `Player`. `new` makes a match even if one is open.
        Facts that differ from what is kept are changed, as by `Match.change`.
        """
        if match_id is not None:
            return Match(self._calls, self._calls.read(f"/v1/matches/{match_id}")).with_facts(**facts)
        if own is None or opponent is None:
            raise TypeError("name the match by its id, or both players")
        ids = {"own_id": self._player_id("own", own), "opponent_id": self._player_id("opponent", opponent)}
        if not new and (open_one := next(self.matches(status="open", **ids), None)):
            return Match(self._calls, open_one).with_facts(**facts)
        return Match(self._calls, body_of(self._calls.add("/v1/matches", {**ids, **_match_body(facts)})))

    def matches(
        self,
        *,
        own_id: str | None = None,
        opponent_id: str | None = None,
        status: Literal["open", "ended"] | None = None,
    ) -> Iterator[Json]:
        """Yield the matches of the club, in the order in which they were made, as `Match`."""
        return self._calls.pages("/v1/matches", own_id=own_id, opponent_id=opponent_id, status=status)

    def given_advice(self, advice_id: str) -> Advice:
        """Return advice as it was given, with what it rested on, as `GivenAdvice`."""
        return Advice(self._calls.read(f"/v1/advice/{advice_id}"))

    def _player_id(self, side: Side, player: str | Mapping[str, Any]) -> str:
        return str((self.player(side, player) if isinstance(player, str) else player)["id"])


def _match_body(facts: Mapping[str, Any]) -> Json:
    names = {"own_facts": "own", "opponent_facts": "opponent"}
    body = {names.get(name, name): value for name, value in given(facts).items()}
    return {name: value.isoformat() if isinstance(value, datetime) else value for name, value in body.items()}


def _listed(words: Iterable[str]) -> str | None:
    return ",".join(words) or None


def _tactic_id(tactic: str | Mapping[str, Any]) -> str:
    return tactic if isinstance(tactic, str) else str(tactic["tactic"])
