"""Questions that keep nothing: advice on a situation, and calculations on scores and serves."""

from collections.abc import Mapping
from typing import Any, Unpack

from tacticapi.client.answers.advice import Advice, Explanation
from tacticapi.client.answers.calculations import ImportanceTable, ServeMix, WinChance
from tacticapi.client.answers.reading import read
from tacticapi.client.calls import Calls
from tacticapi.client.questions import CourtQuestion, ScoreQuestion, ServesQuestion
from tacticapi.client.shown.pictures import Picture


class Stateless:
    """What may be asked without a club."""

    _calls: Calls

    def suggest(self, situation: Mapping[str, Any]) -> Advice:
        """Advice on a situation: its `moment` and all that is known, such as `opponent`, `observations`, `score`."""
        return read(Advice, self._calls.ask("/v1/suggestions", situation))

    def explain(self, situation: Mapping[str, Any], *, tactic: str | None = None) -> Explanation:
        """The same advice with every fact and rule, and why this tactic (without one: each) did or did not speak."""
        return read(Explanation, self._calls.ask("/v1/explanations", situation, {"tactic": tactic}))

    def win_chance(self, **question: Unpack[ScoreQuestion]) -> WinChance:
        """The chance of match, set and game from a score, and what the next point does to them.

        Exactly one of `point_chances` and `points_played` is needed; the rest is `score`, `format`, `level_gap`,
        `moment`, `context`.
        """
        return read(WinChance, self._calls.ask("/v1/calculations/win-chance", question))

    def importance(self, **question: Unpack[ScoreQuestion]) -> ImportanceTable:
        """How much each point of a game or tie-break matters; takes what `win_chance` takes, `server` in the score."""
        return read(ImportanceTable, self._calls.ask("/v1/calculations/importance", question))

    def serve_mix(self, courts: Mapping[str, Any], **more: Unpack[ServesQuestion]) -> ServeMix:
        """Where to serve how often, by what was counted for `deuce` and `ad`, and whether the order gives you away."""
        return read(ServeMix, self._calls.ask("/v1/calculations/serve-mix", {"courts": courts, **more}))

    def court(self, name: CourtQuestion, question: Mapping[str, Any]) -> Mapping[str, Any]:
        """What court and ball say, as the JSON that the contract describes: where to stand, a gap, a margin."""
        answer: Mapping[str, Any] = self._calls.ask(f"/v1/calculations/{name}", question)
        return answer

    def court_picture(self, name: CourtQuestion, question: Mapping[str, Any]) -> Picture:
        """The same as a picture."""
        return Picture(self._calls.ask_text(f"/v1/calculations/{name}", question, accept="image/svg+xml"))
