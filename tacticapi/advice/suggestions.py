"""Write the suggestion for a ranked firing: words, reasons, worth, serve targets, place, sources."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from tacticapi.advice.selection import is_safety
from tacticapi.advice.slots import Slots
from tacticapi.advice.words import reasons, rests_on, site_words, source_lines
from tacticapi.domain.advice import Reason, Suggestion, Target, Worth
from tacticapi.domain.court import Hands, Place
from tacticapi.domain.reasoning import Belief, Firing, Priced
from tacticapi.domain.rules import Level, Rulebook, TraitKey
from tacticapi.domain.situation import Situation, Wing
from tacticapi.evidence.entries import Pool
from tacticapi.pricing.baseline import Judged
from tacticapi.pricing.match_gain import MatchGain, MatchPricer
from tacticapi.pricing.price import Prices, together
from tacticapi.rulebook.danger import Health

COURTS = ("deuce", "ad")
# (receiver's hand, court, wing) -> spot; a left-hander is the mirror image of a right-hander
SPOTS = {
    ("right", "deuce", Wing.BACKHAND): "T",
    ("right", "deuce", Wing.FOREHAND): "wide",
    ("right", "ad", Wing.FOREHAND): "T",
    ("right", "ad", Wing.BACKHAND): "wide",
    ("left", "deuce", Wing.FOREHAND): "T",
    ("left", "deuce", Wing.BACKHAND): "wide",
    ("left", "ad", Wing.BACKHAND): "T",
    ("left", "ad", Wing.FOREHAND): "wide",
}


def serve_targets(receiver: str | None, wing: Wing | None) -> tuple[Target, ...]:
    """Return the spots that reach a wing of this receiver, deuce court first; empty if hand or wing is unknown."""
    if receiver not in ("right", "left") or wing is None:
        return ()
    return tuple(Target(court, SPOTS[receiver, court, wing], wing) for court in COURTS)


def aimed_wing(targets: str | None, wing: Wing | None) -> Wing | None:
    """Return the wing that a tactic serves to (a fixed one, the firing's or the other), or None."""
    match targets:
        case "serve-to-forehand":
            return Wing.FOREHAND
        case "serve-to-backhand":
            return Wing.BACKHAND
        case "serve-to-wing":
            return wing
        case "serve-away-from-wing":
            return wing.other if wing else None
        case _:
            return None


def place_of(tactic_id: str, hands: Hands, rulebook: Rulebook) -> Place | None:
    """Return a tactic's place on court for these hands, or None. Raises KeyError for an unknown tactic."""
    tactic, place = rulebook.tactics[tactic_id], rulebook.places.get(tactic_id)
    wing = aimed_wing(tactic.targets, hands.wing or Wing.BACKHAND)
    serves = {t.court: t.spot for t in serve_targets("left" if hands.opponent == "left" else "right", wing)}
    if not serves:
        return place
    return replace(place or Place(tactic_id), serves=serves)


def size(point: float, pays_in: float, figures: Mapping[str, Any]) -> str:
    """Return the word for a gain over all points: large, some or small; unclear if it may as well cost."""
    if point <= 0.0 or pays_in < float(figures["speaks"]["later"]):
        return "unclear"
    return next((name for name in ("large", "some") if point >= float(figures["size"][name])), "small")


class SuggestionWriter:
    """Writes the suggestions of one situation."""

    def __init__(
        self,
        rulebook: Rulebook,
        situation: Situation,
        beliefs: Mapping[TraitKey, Belief],
        *,
        pricer: MatchPricer,
        prices: Prices,
        health: Health,
        plan: Judged | None = None,
        slots: Slots | None = None,
    ) -> None:
        """Keep what every suggestion of the situation shares."""
        self._rulebook = rulebook
        self._situation = situation
        self._beliefs = beliefs
        self._pricer = pricer
        self._prices = prices
        self._health = health
        self._slots = slots or Slots(situation, (), ())
        self._judged = {**prices.judged, **({plan.tactic: plan} if plan else {})}

    def write(self, shown: Sequence[Priced], weights: Mapping[str, float], level: Level) -> tuple[Suggestion, ...]:
        """Return the suggestions in order; `weights` say what part of its price each counts for, up to the cap."""
        claims = [weights.get(item.firing.tactic.id, 1.0) * item.point for item in shown]
        priced = [item for item in shown if item.place is not None]
        places = [item.place for item in shown if item.place is not None]
        cap = float(self._prices.book.figures["together"][level])
        total = sum([claim for claim in claims if claim > 0.0])
        scale = together(total, cap) / total if total else 1.0
        gains = iter(self._pricer.gains(priced))
        told = self._prices.told(places)
        parts = [scale * weights.get(item.firing.tactic.id, 1.0) for item in shown]
        lines = enumerate(zip(shown, parts, strict=True), start=1)
        return tuple(
            self._suggestion(rank, item, (), None)
            if item.place is None
            else self._suggestion(rank, item, told[item.place], self._worth(item, part, next(gains)))
            for rank, (item, part) in lines
        )

    def _worth(self, item: Priced, part: float, match: MatchGain) -> Worth:
        point = part * item.point
        word = size(point, item.pays_in, self._prices.book.figures)
        return Worth(word, item.pays_in, point, part * match.mean, part * match.low, part * match.high)

    def _suggestion(
        self, rank: int, item: Priced, told: Sequence[tuple[Pool, float]], worth: Worth | None
    ) -> Suggestion:
        firing, tactic, book = item.firing, item.firing.tactic, self._rulebook
        sources = source_lines(tactic, book)
        wing = aimed_wing(tactic.targets, firing.wing) or firing.wing
        if item.place is not None:
            wing = self._prices.book.rows[item.place][1] or wing
        targets = serve_targets(self._situation.opponent.get("handedness"), aimed_wing(tactic.targets, firing.wing))
        alternative = tactic.when[firing.alternative]
        say, counts = self._slots.filled(alternative.say or tactic.say, alternative.named, wing, targets)
        because = (*counts, *reasons(item, self._beliefs, told, self._situation, book))
        tries = self._judged.get(tactic.id)
        if tries and tries.tried:
            because = (Reason(f"tried {tries.tried} times, {tries.won} won", "tries"), *because)
        return Suggestion(
            rank=rank,
            tactic=tactic.id,
            category=tactic.category,
            title=tactic.title,
            say=site_words(say, self._health),
            why=tactic.why,
            because=because,
            rests_on=rests_on(firing, self._beliefs, book.defaults["reads"]),
            worth=worth,
            not_if=tactic.not_if,
            stop_when=tactic.stop_when,
            risk=tactic.risk,
            caution=tactic.caution,
            targets=targets,
            source=sources[0],
            sources=sources,
            coaches_differ=tactic.coaches_differ,
            drawn_for=self._drawn_for(firing),
            safety=is_safety(tactic) or None,
        )

    def _drawn_for(self, firing: Firing) -> Hands | None:
        """Return the player for whom the place of a tactic is drawn, or None."""
        own, opponent = (facts.get("handedness") for facts in (self._situation.own, self._situation.opponent))
        hands = Hands(own, opponent, firing.wing)
        return hands if place_of(firing.tactic.id, hands, self._rulebook) else None
