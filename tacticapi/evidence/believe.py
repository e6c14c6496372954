"""From entries to probabilities: families, the ceiling of the warm-up, and traits that exclude each other."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, fsum

from tacticapi.domain.belief import Belief, Contribution
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Phase, Wing
from tacticapi.domain.trait import Term, Trait
from tacticapi.evidence.entries import Entry, read_entries
from tacticapi.evidence.terms import Finding, Weights, findings, profile_finding
from tacticapi.scoring import State

Key = tuple[str, Wing | None]


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All beliefs in vocabulary order, and the observations refused (place in the posted list to reason).

    `entries` are the observations that count, with phase and weight.
    """

    all: tuple[Belief, ...]
    refused: Mapping[int, str]
    entries: tuple[Entry, ...]


class EvidenceModel:
    """The rulebook's traits, indexed once by the kind of observation that moves them."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Index the terms of every trait; nothing changes afterwards."""
        self._rulebook = rulebook
        evidence = rulebook.defaults["evidence"]
        self._weights = Weights(int(evidence["graded_entries"]), int(evidence["chances_of_a_rating"]))
        self._half = float(evidence["family_weight"])
        self._ceiling = float(evidence["warm_up_ceiling"])
        self._by_kind: dict[str, list[tuple[Key, Term]]] = {}
        for trait in rulebook.traits.values():
            for wing in trait.wings:
                for term in trait.terms:
                    self._by_kind.setdefault(term.what, []).append(((trait.id, wing), term))

    def believe(self, situation: Situation, state: State | None = None) -> Beliefs:
        """Return every trait's belief (one a wing where it has wings), in vocabulary order.

        `state` is the situation's score; without it games age against the latest game that was dated.
        The order of the observations changes nothing but the places that contributions name.
        """
        entries, refused = read_entries(situation, self._rulebook, state)
        found = self._collect(situation, entries)
        weighed = {key: family_weighted(parts, self._half) for key, parts in found.items()}
        probabilities = self._probabilities({key: _by_phase(parts) for key, parts in weighed.items()})
        beliefs = [
            Belief(trait.id, wing, trait.prior, probabilities[trait.id, wing], weighed.get((trait.id, wing), ()))
            for trait in self._rulebook.traits.values()
            for wing in trait.wings
        ]
        return Beliefs(tuple(beliefs), refused, tuple(entries))

    def moved_by(self, kind: str) -> list[tuple[Key, Term]]:
        """Every (trait, wing) and term that reads this kind of observation."""
        return self._by_kind.get(kind, [])

    def _collect(self, situation: Situation, entries: list[Entry]) -> dict[Key, list[Finding]]:
        by_kind: dict[str, list[Entry]] = {}
        for entry in entries:
            by_kind.setdefault(entry.observation.what, []).append(entry)
        found: dict[Key, list[Finding]] = {}
        for what, group in by_kind.items():
            kind = self._rulebook.kinds[what]
            for key, term in self.moved_by(what):
                found.setdefault(key, []).extend(findings(term, kind, key[1], group, self._weights))
        for subject, items in (("opponent", situation.opponent), ("context", situation.context)):
            for name, value in items.items():
                what = f"{subject}.{name}"
                for key, term in self.moved_by(what):
                    finding = profile_finding(term, self._rulebook.kinds[what], value)
                    if finding and term.moves in (None, key[1]):
                        found.setdefault(key, []).append(finding)
        return found

    def _probabilities(self, evidence: Mapping[Key, tuple[float, float]]) -> dict[Key, float]:
        result: dict[Key, float] = {}
        groups: dict[tuple[str, Wing | None], list[tuple[Key, Trait]]] = {}
        for trait in self._rulebook.traits.values():
            for wing in trait.wings:
                # a trait that excludes no other is a group of its own
                label = (f"*{trait.excludes}", None) if trait.excludes else (trait.id, wing)
                groups.setdefault(label, []).append(((trait.id, wing), trait))
        for members in groups.values():
            keys = [key for key, _ in members]
            priors = [trait.prior for _, trait in members]
            moves = [evidence.get(key, (0.0, 0.0)) for key in keys]
            for key, p in zip(keys, exclusive(priors, moves, self._ceiling), strict=True):
                result[key] = p
        return result


def exclusive(priors: list[float], moves: list[tuple[float, float]], ceiling: float) -> list[float]:
    """Posteriors of traits of which at most one holds: each prior times its odds, shared out with "none of them".

    `moves` are the log odds (before the first game, in games) of each trait. What was seen before the first
    game lifts no trait above `ceiling` (or its prior, if that is higher); games move on from there.

    >>> exclusive([0.5], [(9.0, 0.0)], 0.8)
    [0.8]
    """
    early = _shared_out(priors, [early for early, _ in moves])
    for i, (prior, p) in enumerate(zip(priors, early, strict=True)):
        cap = max(ceiling, prior)
        if p > cap:
            squeeze = (1.0 - cap) / (1.0 - p)
            early = [cap if j == i else q * squeeze for j, q in enumerate(early)]
    return _shared_out(early, [late for _, late in moves])


def _shared_out(priors: list[float], log_odds: list[float]) -> list[float]:
    top = max(0.0, *log_odds)  # shifted, so that the largest odds never overflow
    lifted = [p * exp(x - top) for p, x in zip(priors, log_odds, strict=True)]
    total = sum(lifted) + max(0.0, 1.0 - sum(priors)) * exp(-top)
    return [p / total for p in lifted]


def family_weighted(parts: list[Finding], half: float) -> tuple[Contribution, ...]:
    """Weigh one trait's findings by family, strongest contribution first.

    A family is all findings of one phase that point the same way: the strongest counts in full, the others by
    `half`, so that many views of one thing do not pass for many things.
    """
    weighed: list[Contribution] = []
    families: dict[tuple[Phase, bool], list[Finding]] = {}
    for part in parts:
        if part.log_odds:
            families.setdefault((part.phase, part.log_odds > 0), []).append(part)
    for (phase, _), family in families.items():
        family.sort(key=lambda f: (-abs(f.log_odds), f.term.what, f.text))
        for place, f in enumerate(family):
            log_odds = f.log_odds * (1.0 if place == 0 else half)
            weighed.append(Contribution(f.term.what, phase, log_odds, f.chances, f.observations, f.text))
    return tuple(sorted(weighed, key=lambda c: (-abs(c.log_odds), c.what, c.text)))


def _by_phase(parts: tuple[Contribution, ...]) -> tuple[float, float]:
    early = fsum(c.log_odds for c in parts if c.phase is not Phase.GAMES)
    return early, fsum(c.log_odds for c in parts if c.phase is Phase.GAMES)
