"""What is kept of a club: players, opponents and matches."""

from collections.abc import Iterator, Mapping
from typing import Any, Literal, Unpack, overload

from tacticapi.client.answers.advice import GivenAdvice
from tacticapi.client.answers.debrief import Dossier
from tacticapi.client.answers.kept import MatchRecord, Player
from tacticapi.client.answers.reading import read
from tacticapi.client.calls import Calls
from tacticapi.client.match import Match, match_body
from tacticapi.client.questions import MatchFacts, Side
from tacticapi.client.shown.pictures import Markdown


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
