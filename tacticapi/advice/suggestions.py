"""Write the suggestion for a ranked firing: wording, reasons, worth, serve targets, place, sources.

A `say` may contain {wing} and {other_wing}; an unknown wing becomes "weaker wing". A `named` line may also contain
{targets}, {spots}, {court}, {returns} and {left}; it replaces `say` if all its slots are known.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from string import Formatter
from typing import Any

from tacticapi.advice.selection import is_safety
from tacticapi.advice.words import reasons, rests_on, site_words, source_lines
from tacticapi.domain.advice import Reason, Suggestion, Target, Worth
from tacticapi.domain.court import Hands, Place
from tacticapi.domain.reasoning import Belief, Priced
from tacticapi.domain.rules import Level, ObservationKind, Rulebook, TraitKey
from tacticapi.domain.situation import Game, Situation, Wing
from tacticapi.evidence.entries import Pool, game_of
from tacticapi.evidence.spots import COURTS, KINDS, SPOTS, Cell
from tacticapi.pricing.baseline import Judged
from tacticapi.pricing.match_gain import MatchGain, MatchPricer
from tacticapi.pricing.price import Prices, together
from tacticapi.rulebook.danger import Health

UNKNOWN = {"wing": "weaker wing", "other_wing": "other wing", "site": "{site}"}
NAMED: Mapping[Wing | None, dict[str, str]] = {w: {"wing": str(w), "other_wing": str(w.other)} for w in Wing}
RETURNS_IN = "record.returns_in"
FEWEST = 5  # serves or returns needed in a court before it is named
LEAD = 0.55  # the share of serves to a court that makes a spot a favourite
GAP = 0.15  # the difference between the two courts' shares of returns in
MOVED = 0.25  # the shift in a habit at a change of play


class Slots:
    """Fills a line's slots from one situation."""

    def __init__(self, situation: Situation, cells: Sequence[Cell], courts: Sequence[str], left: str) -> None:
        self._left = left
        self._cells = [cell for cell in cells if cell.court and (not courts or cell.court in courts)]
        self._returns = _returns(situation)

    def filled(
        self, say: str, named: str | None, wing: Wing | None, targets: Sequence[Target]
    ) -> tuple[str, tuple[Reason, ...]]:
        """Return the line, with names if possible, and the counts that it is based on."""
        known = NAMED.get(wing, {})
        if named:
            aims = " and ".join(f"{one.spot} in the {one.court} court" for one in targets)
            every = {**known, "targets": aims, **self._known()}
            asked = {name for _, name, _, _ in Formatter().parse(named) if name}
            if all(every.get(name) for name in asked):
                spots = self._of_spots() if "spots" in asked else ()
                return named.format(**every), (*spots, *(self._of_returns() if "returns" in asked else ()))
        return say.format(**{**UNKNOWN, **known}), ()

    def _known(self) -> dict[str, str]:
        spots = " and ".join(f"{spot} in the {cell.court} court" for cell, spot, _, _ in self._favourites())
        known = {"spots": spots, "left": self._left}
        if len(self._returns) == len(COURTS):
            best, worst = sorted(self._returns.items(), key=lambda each: -each[1][0] / each[1][1])
            (court, (won, of)), (other, (less, among)) = best, worst
            if won / of - less / among >= GAP:
                told = f"{won:g} of {of:g} back there, {less:g} of {among:g} in the {other} court"
                known |= {"court": court, "returns": told}
        return known

    def _favourites(self) -> Iterator[tuple[Cell, str, float, float]]:
        """Yield each court that has a favourite spot, with the spot's count and the number of serves counted there."""
        for cell in self._cells:
            spread = [pool.spread(None if KINDS[pool.kind.id] else cell.court) for pool in cell.pools]
            counts = [sum(part) for part in zip(*spread, strict=True)]
            place = max(range(len(SPOTS)), key=lambda n: counts[n])
            if sum(counts) >= FEWEST and cell.alphas[place] / sum(cell.alphas) >= LEAD:
                yield cell, SPOTS[place], counts[place], sum(counts)

    def _of_spots(self) -> Iterator[Reason]:
        for cell, spot, count, of in self._favourites():
            yield Reason(
                f"{cell.serve} serves to the {cell.court} court: {spot} {count:g} of {of:g}", cell.pools[0].kind.id
            )

    def _of_returns(self) -> Iterator[Reason]:
        for court, (won, of) in self._returns.items():
            yield Reason(f"your returns in from the {court} court: {won:g} of {of:g}", RETURNS_IN)


def left_open(situation: Situation, change: Game | None, kinds: Mapping[str, ObservationKind]) -> str:
    """Return what the opponent's last change of play leaves open, judging by the habit that changed most."""
    if change is None:
        return ""
    shares: dict[str, dict[bool, list[float]]] = {}
    for seen in situation.observations:
        kind, game = kinds[seen.what], game_of(seen)
        if game and seen.of and (kind.if_more or kind.if_less):
            counted = shares.setdefault(seen.what, {}).setdefault(game >= change, [0.0, 0.0])
            counted[0] += seen.count or 0.0
            counted[1] += seen.of
    moves = {
        what: by[True][0] / by[True][1] - by[False][0] / by[False][1]
        for what, by in shares.items()
        if len(by) == len((True, False)) and min(by[True][1], by[False][1]) >= FEWEST
    }
    most = max(moves, key=lambda what: abs(moves[what]), default="")
    if abs(moves.get(most, 0.0)) < MOVED:
        return ""
    return (kinds[most].if_more if moves[most] > 0.0 else kinds[most].if_less) or ""


def unnamed(say: str) -> str:
    """Return a line with its slots filled for an unknown wing."""
    return say.format(**UNKNOWN)


def _returns(situation: Situation) -> dict[str, tuple[float, float]]:
    sums: dict[str, tuple[float, float]] = {}
    for seen in situation.observations:
        if seen.what == RETURNS_IN and seen.court and seen.of:
            won, of = sums.get(seen.court, (0.0, 0.0))
            sums[seen.court] = (won + (seen.count or 0.0), of + seen.of)
    return {court: counted for court, counted in sums.items() if counted[1] >= FEWEST}


# the wing that a serve down the T reaches, by court; a left-hander is the mirror image of a right-hander
AT_THE_T = {
    "right": {"deuce": Wing.BACKHAND, "ad": Wing.FOREHAND},
    "left": {"deuce": Wing.FOREHAND, "ad": Wing.BACKHAND},
}


def serve_targets(receiver: str | None, wing: Wing | None) -> tuple[Target, ...]:
    """Return the spots that reach this wing, deuce court first; empty if the receiver's hand or the wing is unknown."""
    if wing is None:
        return ()
    return tuple(
        Target(court, "T" if at_the_t is wing else "wide", wing)
        for court, at_the_t in AT_THE_T.get(receiver or "", {}).items()
    )


def aimed_wing(targets: str | None, wing: Wing | None) -> Wing | None:
    """Return the wing that a tactic serves to (a fixed wing, the firing's wing or the other one), or None."""
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
    """Return where on the court a tactic happens for these hands, or None. Raises KeyError for an unknown tactic."""
    tactic, place = rulebook.tactics[tactic_id], rulebook.places.get(tactic_id)
    wing = aimed_wing(tactic.targets, hands.wing or Wing.BACKHAND)
    serves = {t.court: t.spot for t in serve_targets("left" if hands.opponent == "left" else "right", wing)}
    if not serves:
        return place
    return replace(place or Place(tactic_id), serves=serves)


def size(point: float, pays_in: float, figures: Mapping[str, Any]) -> str:
    """Return the word for a gain over all points: large, some or small; unclear if it might well be a loss."""
    if point <= 0.0 or pays_in < float(figures["speaks"]["later"]):
        return "unclear"
    return next((name for name in ("large", "some") if point >= float(figures["size"][name])), "small")


@dataclass(frozen=True, slots=True)
class SuggestionWriter:
    """Writes the suggestions for one situation; `judged` holds the tactics that were tried."""

    rulebook: Rulebook
    situation: Situation
    beliefs: Mapping[TraitKey, Belief]
    pricer: MatchPricer
    prices: Prices
    health: Health
    judged: Mapping[str, Judged]
    slots: Slots

    def write(self, shown: Sequence[Priced], weights: Mapping[str, float], level: Level) -> tuple[Suggestion, ...]:
        """Return the suggestions in order; `weights` give the part of each price that counts, up to the cap."""
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
