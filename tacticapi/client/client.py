"""Provide Python classes for one service, one club's data, and one match from warm-up to debrief.

Methods return plain mappings, as parsed from JSON. A name in backticks after "as" is a schema in the contract.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, Literal, Self, overload

from tacticapi.client.calls import Calls, Json, body_of, given, items_of
from tacticapi.client.shown import HTML, SVG, Advice, Text

LINES = 200  # lines per post: its limit is 1 MiB, and a valid observation has at most 5 kB
POSTED = {"observations": "observation", "points": "point", "tries": "tries"}
LINKS = ("supersedes", "withdraws")

Side = Literal["own", "opponent"]
Moment = Literal["before-match", "after-warm-up", "between-points", "change-of-ends", "set-break", "after-match"]
Part = Literal["beliefs", "profile", "held_back", "unused", "explanations"]
Calculation = Literal["win-chance", "importance", "serve-mix", "court-position", "gap", "shot-margin"]
Noun = Literal["observations", "points", "tries"]


class Entry(dict[str, Any]):
    """A match entry as parsed from JSON. `noun` (its kind) and `posted` (its content) allow a correction."""

    def __init__(self, answer: Mapping[str, Any], noun: Noun, posted: Mapping[str, Any] | None) -> None:
        super().__init__(answer)
        self.noun, self.posted = noun, posted


class Match:
    """A club's match; `record` is its `Match` as last read. Methods create an idempotency `key` if none is passed."""

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
        """Add an observation, as `Receipt`: `what` is a vocabulary id, and `count` is out of `of` chances.

        Instead of a count, pass `rating`, `value`, `amount`, `seen` or `counts`. Keywords are members of `Observation`.
        """
        return self._add("observations", {"what": what, "count": count, "of": of, **more}, key)

    def saw_many(self, seen: Iterable[Mapping[str, Any]]) -> list[Entry]:
        """Add many observations. Return a `LineResult` for each: its id if it was added, or else its `errors`."""
        posted, entries = [given(one) for one in seen], list[Entry]()
        for start in range(0, len(posted), LINES):
            lines = "\n".join(json.dumps(one, ensure_ascii=False) for one in posted[start : start + LINES])
            for answer in items_of(self._calls.add(f"{self._path}/observations", lines)):
                line = start + answer["line"]
                entries.append(Entry({**answer, "line": line}, "observations", posted[line - 1]))
        return entries

    def point(self, winner: Side, *, own_error: bool | None = None, key: str | None = None) -> Entry:
        """Add the winner of the next point, as `Scored`; `own_error` says whether your own unforced error lost it."""
        return self._add("points", {"winner": winner, "own_error": own_error}, key)

    def set_score(self, *, key: str | None = None, **score: Any) -> Entry:
        """Set the score by hand if points were missed, as `Scored`. Keywords are members of `Score`."""
        return self._add("points", {"score": score}, key)

    def tried(self, tactic: str | Mapping[str, Any], tried: int, *, won: int, key: str | None = None) -> Entry:
        """Add how many points a tactic (or suggestion) was tried on and how many of them were won, as `Receipt`."""
        return self._add("tries", {"tactic": _tactic_id(tactic), "tried": tried, "won": won}, key)

    def correct(self, entry: Entry, *, key: str | None = None, **changes: Any) -> Entry:
        """Replace an entry with its posted content plus these changes; None removes a member."""
        return self._add(entry.noun, {**(entry.posted or {}), **changes, "supersedes": entry["id"]}, key)

    def withdraw(self, entry: Entry, *, key: str | None = None) -> Entry:
        """Withdraw an entry; it stays in the history."""
        return self._add(entry.noun, {"withdraws": entry["id"]}, key)

    def advice(
        self, moment: Moment, *, limit: int | None = None, minutes_left: int | None = None, include: Iterable[Part] = ()
    ) -> Advice:
        """Return advice from all stored data, as `LiveAdvice`. Return the same object as long as nothing changes."""
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
        """Add feedback on a suggestion, as `Feedback`; `reason` says why it was not used, or how it turned out."""
        body = {"tactic": _tactic_id(tactic), "kind": kind, "reason": reason}
        return body_of(self._calls.add(f"/v1/advice/{advice['advice_id']}/feedback", body, key=key))

    def score(self) -> Json:
        """Return the score from the stored points, as `MatchScore`."""
        return self._calls.read(f"{self._path}/score")

    def entries(self, noun: Noun) -> Iterator[Entry]:
        """Yield the entries of one kind, oldest first, as `KeptObservation`, `KeptPoint` or `KeptTries`."""
        return (Entry(item, noun, item.get(POSTED[noun])) for item in self._calls.pages(f"{self._path}/{noun}"))

    @overload
    def debrief(self, *, format: Literal["json"] = "json") -> Json: ...
    @overload
    def debrief(self, *, format: Literal["markdown", "html"]) -> Text: ...
    def debrief(self, *, format: str = "json") -> Json | Text:
        """Return the debrief of a finished match: as `Debrief`, as Markdown, or as a page with pictures."""
        path = f"{self._path}/debrief"
        return self._calls.read(path) if format == "json" else self._calls.text(path, accept=f"text/{format}")

    def picture(
        self,
        name: Literal["win-curve", "beliefs", "serve-spots"],
        *,
        moment: Moment | None = None,
        limit: int | None = None,
        serve: Literal["first", "second"] | None = None,
    ) -> Text:
        """Draw the match. `limit` applies to beliefs, `serve` to serve spots. Raises NotFound if no data is stored."""
        path = f"{self._path}/pictures/{name}"
        return self._calls.text(path, accept=SVG, moment=moment, limit=limit, serve=serve)

    def card(self, *, moment: Moment | None = None) -> Text:
        """Return the plan card, ready to print; the default moment is before the match."""
        return self._calls.text(f"{self._path}/card", accept=HTML, moment=moment)

    def change(self, **facts: Any) -> Self:
        """Change `context`, `own_facts`, `opponent_facts`, `first_server` or `started_at` in the current version.

        Each object is merged into the stored one.
        """
        version = self._calls.get(self._path).headers["ETag"]
        self.record = body_of(self._calls.once("PATCH", self._path, _match_body(facts), version=version))
        return self

    def with_facts(self, **facts: Any) -> Self:
        """Change the match if these facts differ from the stored ones."""
        posted = _match_body(facts)
        differ = any(self.record.get(name) != value for name, value in posted.items() if name != "started_at")
        return self.change(**facts) if differ else self

    def end(self) -> Json:
        """End the match and return its `Match`: it accepts no more points or tries, and its health items are erased."""
        self.record = body_of(self._calls.once("POST", f"{self._path}/end"))
        return self.record

    def _add(self, noun: Noun, members: Mapping[str, Any], key: str | None) -> Entry:
        body = given(members)
        answer = body_of(self._calls.add(f"{self._path}/{noun}", body, key=key))
        return Entry(answer, noun, {name: value for name, value in body.items() if name not in LINKS})


class Client:
    """A service at an address, accessed with a club's token.

    `timeout` is in seconds. Safe calls are retried at most `retries` times: calls that change nothing, and additions,
    because they have an idempotency key. Each wait is longer than the last, or as long as the service asks. Every
    failure raises a ClientError. Give each thread its own client.
    """

    def __init__(self, url: str, token: str | None = None, *, timeout: float = 30.0, retries: int = 3) -> None:
        self._calls = Calls(url, token, timeout=timeout, retries=retries)

    def __repr__(self) -> str:
        return f"Client({self._calls.url!r})"

    def close(self) -> None:
        """Close the connections; `with Client(...) as client:` does so automatically."""
        self._calls.session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self.close()

    def suggest(self, situation: Mapping[str, Any], *, include: Iterable[Part] = ()) -> Advice:
        """Return advice on a situation (`Situation`), as `Advice`. `include` names additional parts to return."""
        return Advice(self._calls.ask("/v1/suggestions", situation, include=_listed(include)))

    def explain(self, situation: Mapping[str, Any], *, tactic: str | None = None) -> Advice:
        """Explain the same advice, as `Explanation`, and why this tactic (default: all) was suggested or not."""
        return Advice(self._calls.ask("/v1/explanations", situation, tactic=tactic))

    def calculate(self, name: Calculation, **question: Any) -> Json:
        """Return a calculation, such as `WinChance` for `win-chance`. Keywords are members of its query.

        Examples of queries are `WinChanceQuestion`, `ServeMixQuestion` or `GapQuestion`.
        """
        return self._calls.ask(f"/v1/calculations/{name}", question)

    def vocabulary(self, *, subject: str | None = None, phase: str | None = None) -> Iterator[Json]:
        """Yield every kind of observation with its question and accepted forms, as `Kind`."""
        return self._calls.pages("/v1/vocabulary", subject=subject, phase=phase)

    def traits(self) -> Iterator[Json]:
        """Yield every trait of an opponent, with the observations that change its belief, as `Trait`."""
        return self._calls.pages("/v1/traits")

    def tactics(
        self, *, category: str | None = None, status: str | None = None, risk: str | None = None
    ) -> Iterator[Json]:
        """Yield every tactic with its conditions and sources, as `Tactic`."""
        return self._calls.pages("/v1/tactics", category=category, status=status, risk=risk)

    def tactic(self, tactic: str) -> Json:
        """Return one tactic by its id, as `Tactic`. Raises NotFound."""
        return self._calls.read(f"/v1/tactics/{tactic}")

    def sources(self) -> Iterator[Json]:
        """Yield every publication that the rules cite, as `Source`."""
        return self._calls.pages("/v1/sources")

    def rulebook(self) -> Json:
        """Return the rules' version, counts, categories, limits per moment and defaults, as `Rulebook`."""
        return self._calls.read("/v1/rulebook")

    def player(self, side: Side, label: str, *, facts: Mapping[str, Any] | None = None) -> Json:
        """Return the player with this nickname or code, as `Player`; create it or update its facts if needed."""
        found = next(self.players(side=side, label=label), None)
        if found is None:
            return body_of(self._calls.add("/v1/players", given({"side": side, "label": label, "facts": facts})))
        if all(found["facts"].get(name) == value for name, value in (facts or {}).items()):
            return found
        path, version = f"/v1/players/{found['id']}", f'"{found["version"]}"'
        return body_of(self._calls.once("PATCH", path, {"facts": facts}, version=version))

    def players(self, *, side: Side | None = None, label: str | None = None) -> Iterator[Json]:
        """Yield the club's players and their opponents, oldest first, as `Player`."""
        return self._calls.pages("/v1/players", side=side, label=label)

    def erase_player(self, player_id: str) -> None:
        """Erase a player for good, with all text that names them."""
        self._calls.once("DELETE", f"/v1/players/{player_id}")

    def dossier(self, player_id: str, *, surface: str | None = None) -> Json:
        """Return the evidence from all matches against an opponent, as `Dossier`."""
        return self._calls.read(f"/v1/players/{player_id}/dossier", surface=surface)

    def match(
        self,
        match_id: str | None = None,
        *,
        own: str | Mapping[str, Any] | None = None,
        opponent: str | Mapping[str, Any] | None = None,
        new: bool = False,
        **facts: Any,
    ) -> Match:
        """Return the match with this id, or the open match of these two players; create it if it is missing.

        Name players by label (missing ones are created) or pass a `Player`. `new` creates a match even if one is open.
        Facts that differ from the stored ones are updated, as by `Match.change`.
        """
        if match_id is not None:
            return Match(self._calls, self._calls.read(f"/v1/matches/{match_id}")).with_facts(**facts)
        if own is None or opponent is None:
            raise TypeError("give the id of the match, or both players")
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
        """Yield the club's matches, oldest first, as `Match`."""
        return self._calls.pages("/v1/matches", own_id=own_id, opponent_id=opponent_id, status=status)

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
