"""From a ranked firing to the suggestion that is shown: words, reasons, worth, targets, sources."""

from collections.abc import Mapping, Sequence

from tacticapi.advice.court_notes import court_note
from tacticapi.advice.places import place_of
from tacticapi.advice.ranking import Value, capped
from tacticapi.advice.targets import aimed_wing, serve_targets
from tacticapi.advice.wording import Key, reasons, rests_on, site_words, source_lines
from tacticapi.domain.advice import Gain, Suggestion
from tacticapi.domain.belief import Belief
from tacticapi.domain.firing import Firing, Priced
from tacticapi.domain.place import Hands
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.inference.danger import Health
from tacticapi.value import MatchGain, MatchPricer


class SuggestionWriter:
    """Writes the suggestions of one situation."""

    def __init__(
        self,
        rulebook: Rulebook,
        situation: Situation,
        beliefs: Mapping[Key, Belief],
        pricer: MatchPricer,
        health: Health,
    ) -> None:
        """Keep what every suggestion of the situation shares."""
        self._rulebook = rulebook
        self._situation = situation
        self._beliefs = beliefs
        self._pricer = pricer
        self._health = health

    def write(self, shown: Sequence[Priced], values: Mapping[str, Value]) -> tuple[Suggestion, ...]:
        """Return the suggestions in the given order. Their gains are family-weighted and capped together."""
        weights = {p.firing.tactic.id: _ratio(values[p.firing.tactic.id].point, p.point) for p in shown}
        together = capped(list(shown), weights, float(self._rulebook.defaults["shown_ceiling"]))
        lines = enumerate(zip(shown, together, self._pricer.gains(shown), strict=True), start=1)
        return tuple(self._suggestion(rank, item, counted.point, match) for rank, (item, counted, match) in lines)

    def _suggestion(self, rank: int, item: Priced, point: float, match: MatchGain) -> Suggestion:
        firing, tactic, book = item.firing, item.firing.tactic, self._rulebook
        scale = _ratio(point, item.point)
        sources = source_lines(tactic, book)
        most = int(book.defaults["reasons"])
        return Suggestion(
            rank=rank,
            tactic=tactic.id,
            category=tactic.category,
            title=tactic.title,
            say=site_words(tactic.when[firing.alternative].say or tactic.say, self._health),
            why=tactic.why,
            because=reasons(firing, self._beliefs, self._situation, book, most),
            rests_on=rests_on(firing, self._beliefs, book.defaults["reads"]),
            gain=Gain(point, match.mean * scale, match.low * scale, match.high * scale),
            not_if=tactic.not_if,
            stop_when=tactic.stop_when,
            risk=tactic.risk,
            caution=tactic.caution,
            targets=serve_targets(self._situation.opponent.get("handedness"), aimed_wing(tactic.targets, firing.wing)),
            source=sources[0],
            sources=sources,
            coaches_differ=tactic.coaches_differ,
            drawn_for=self._drawn_for(firing),
            court=court_note(tactic.id, self._situation, book),
        )

    def _drawn_for(self, firing: Firing) -> Hands | None:
        """For whom the place of a tactic is drawn; None where it has no place."""
        own, opponent = (facts.get("handedness") for facts in (self._situation.own, self._situation.opponent))
        hands = Hands(own, opponent, firing.wing)
        return hands if place_of(firing.tactic.id, hands, self._rulebook) else None


def _ratio(part: float, whole: float) -> float:
    return part / whole if whole else 1.0
