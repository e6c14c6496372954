"""Write the suggestion for a ranked firing: words, reasons, worth, serve targets, place, sources."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tacticapi.advice.selection import is_safety
from tacticapi.advice.slots import Slots
from tacticapi.advice.words import reasons, rests_on, site_words, source_lines
from tacticapi.domain.advice import Reason, Suggestion, Target, Worth
from tacticapi.domain.court import Hands, Place
from tacticapi.domain.reasoning import Belief, Priced
from tacticapi.domain.rules import Level, Rulebook, TraitKey
from tacticapi.domain.situation import Situation, Wing
from tacticapi.evidence.entries import Pool
from tacticapi.pricing.baseline import Judged
from tacticapi.pricing.match_gain import MatchGain, MatchPricer
from tacticapi.pricing.price import Prices, together
from tacticapi.rulebook.danger import Health

COURTS = ("deuce", "ad")
# the wing that a serve down the T reaches, by court; a left-hander is the mirror image of a right-hander
AT_THE_T = {
    "right": {"deuce": Wing.BACKHAND, "ad": Wing.FOREHAND},
    "left": {"deuce": Wing.FOREHAND, "ad": Wing.BACKHAND},
}


def serve_targets(receiver: str | None, wing: Wing | None) -> tuple[Target, ...]:
    """Return the spots that reach a wing of this receiver, deuce court first; empty if hand or wing is unknown."""
    if wing is None:
        return ()
    return tuple(
        Target(court, "T" if at_the_t is wing else "wide", wing)
        for court, at_the_t in AT_THE_T.get(receiver or "", {}).items()
    )


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


@dataclass(frozen=True, slots=True)
class SuggestionWriter:
    """Writes the suggestions of one situation; `judged` are the tactics that were tried."""

    rulebook: Rulebook
    situation: Situation
    beliefs: Mapping[TraitKey, Belief]
    pricer: MatchPricer
    prices: Prices
    health: Health
    judged: Mapping[str, Judged]
    slots: Slots

    def write(self, shown: Sequence[Priced], weights: Mapping[str, float], level: Level) -> tuple[Suggestion, ...]:
        """Return the suggestions in order; `weights` say what part of its price each counts for, up to the cap."""
        parts = [weights.get(item.firing.tactic.id, 1.0) for item in shown]
        claims = [part * item.point for part, item in zip(parts, shown, strict=True)]
        total = sum([claim for claim in claims if claim > 0.0])
        scale = together(total, float(self.prices.book.figures["together"][level])) / total if total else 1.0
        gains = iter(self.pricer.gains([item for item in shown if item.place is not None]))
        told = self.prices.told([item.place for item in shown if item.place is not None])
        return tuple(
            self._suggestion(rank, item, (), None)
            if item.place is None
            else self._suggestion(rank, item, told[item.place], self._worth(item, scale * part, next(gains)))
            for rank, (item, part) in enumerate(zip(shown, parts, strict=True), start=1)
        )

    def _worth(self, item: Priced, part: float, match: MatchGain) -> Worth:
        point = part * item.point
        word = size(point, item.pays_in, self.prices.book.figures)
        return Worth(word, item.pays_in, point, part * match.mean, part * match.low, part * match.high)

    def _suggestion(
        self, rank: int, item: Priced, told: Sequence[tuple[Pool, float]], worth: Worth | None
    ) -> Suggestion:
        firing, tactic, book = item.firing, item.firing.tactic, self.rulebook
        sources = source_lines(tactic, book)
        aimed = aimed_wing(tactic.targets, firing.wing)
        wing = aimed or firing.wing
        if item.place is not None:
            wing = self.prices.book.rows[item.place][1] or wing
        own, opponent = (facts.get("handedness") for facts in (self.situation.own, self.situation.opponent))
        hands = Hands(own, opponent, firing.wing)
        targets = serve_targets(opponent, aimed)
        alternative = tactic.when[firing.alternative]
        say, counts = self.slots.filled(alternative.say or tactic.say, alternative.named, wing, targets)
        because = (*counts, *reasons(item, self.beliefs, told, self.situation, book))
        tries = self.judged.get(tactic.id)
        if tries and tries.tried:
            because = (Reason(f"tried {tries.tried} times, {tries.won} won", "tries"), *because)
        return Suggestion(
            rank=rank,
            tactic=tactic.id,
            category=tactic.category,
            title=tactic.title,
            say=site_words(say, self.health),
            why=tactic.why,
            because=because,
            rests_on=rests_on(firing, self.beliefs, book.defaults["reads"]),
            worth=worth,
            not_if=tactic.not_if,
            stop_when=tactic.stop_when,
            risk=tactic.risk,
            caution=tactic.caution,
            targets=targets,
            source=sources[0],
            sources=sources,
            coaches_differ=tactic.coaches_differ,
            drawn_for=hands if place_of(tactic.id, hands, book) else None,
            safety=is_safety(tactic) or None,
        )
