"""From entries to probabilities: families, the ceiling of the warm-up, and traits that exclude each other.

`largest_moves` is the check behind "small numbers move little": how far one more chance of one kind can move a belief.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, fsum

from tacticapi.domain.reasoning import Belief, Contribution, belief_name
from tacticapi.domain.rules import ObservationKind, Rulebook, Term, TermForm, Trait, TraitKey
from tacticapi.domain.situation import Phase, Situation, Way
from tacticapi.evidence.entries import Entry, Pool, pools_by_kind, read_entries
from tacticapi.evidence.likelihood import (
    Finding,
    Weights,
    favourite_log_odds,
    findings,
    profile_finding,
    share_log_odds,
)
from tacticapi.scoring.score import State

MOST_CHANCES = 40
MOST_SPOT_CHANCES = 16


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All beliefs in vocabulary order, and the observations refused (place in the posted list to reason).

    `entries` are the observations that count, with phase and weight; `pools` the same by kind.
    """

    by_key: Mapping[TraitKey, Belief]
    refused: Mapping[int, str]
    entries: tuple[Entry, ...]
    pools: Mapping[str, Sequence[Pool]]

    @property
    def all(self) -> tuple[Belief, ...]:
        """One belief a trait and wing."""
        return tuple(self.by_key.values())


@dataclass(frozen=True, slots=True)
class _Group:
    """Traits of which at most one holds, often just one: their keys and priors."""

    keys: list[TraitKey]
    priors: list[float]

    def known(self, taught: Mapping[TraitKey, float]) -> "_Group":
        """The group with what earlier matches taught in the place of its priors."""
        return _Group(self.keys, [taught.get(key, p) for key, p in zip(self.keys, self.priors, strict=True)])


class EvidenceModel:
    """The rulebook's traits, indexed once by the kind of observation that moves them."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Index the terms of every trait, and what is believed before anything is seen; nothing changes afterwards."""
        self._rulebook = rulebook
        evidence = rulebook.defaults["evidence"]
        self._weights = Weights(int(evidence["graded_entries"]), int(evidence["chances_of_a_rating"]))
        self._half = float(evidence["family_weight"])
        self._ceiling = float(evidence["warm_up_ceiling"])
        self._by_kind: dict[str, list[tuple[TraitKey, Term]]] = {}
        groups: dict[TraitKey, _Group] = {}
        vocabulary: list[TraitKey] = []
        for trait in rulebook.traits.values():
            for wing in trait.wings:
                key = (trait.id, wing)
                # a trait that excludes no other is a group of its own
                group = groups.setdefault((f"*{trait.excludes}", None) if trait.excludes else key, _Group([], []))
                group.keys.append(key)
                group.priors.append(trait.prior)
                vocabulary.append(key)
                for term in trait.terms:
                    if term.moves in (None, wing):
                        self._by_kind.setdefault(term.what, []).append((key, term))
        self._groups = list(groups.values())
        self._place = {key: place for place, group in enumerate(self._groups) for key in group.keys}
        unmoved = {key: belief for group in self._groups for key, belief in self._beliefs(group, {})}
        self._unmoved = {key: unmoved[key] for key in vocabulary}

    def believe(self, situation: Situation, state: State | None = None) -> Beliefs:
        """Return every trait's belief (one a wing where it has wings), in vocabulary order.

        `state` is the situation's score; without it games age against the latest game that was dated.
        The order of the observations changes nothing but the places that contributions name.
        """
        entries, refused = read_entries(situation, self._rulebook, state)
        together = pools_by_kind(entries, self._rulebook.kinds)
        found = self._collect(situation, together)
        weighed = {key: family_weighted(parts, self._half) for key, parts in found.items()}
        taught = self._taught(situation.priors) if situation.priors else {}
        beliefs = dict(self._unmoved)
        for place in {self._place[key] for key in (*weighed, *taught)}:
            group = self._groups[place]
            beliefs.update(self._beliefs(group.known(taught) if taught else group, weighed))
        return Beliefs(beliefs, refused, tuple(entries), together)

    def _taught(self, priors: Mapping[str, float]) -> dict[TraitKey, float]:
        return {key: p for key in self._place if (p := priors.get(belief_name(*key))) is not None}

    def moved_by(self, kind: str) -> list[tuple[TraitKey, Term]]:
        """Every (trait, wing) that this kind of observation can move, and the term by which it does."""
        return self._by_kind.get(kind, [])

    def _collect(self, situation: Situation, pools: Mapping[str, Sequence[Pool]]) -> dict[TraitKey, list[Finding]]:
        found: dict[TraitKey, list[Finding]] = {}
        for what, of_kind in pools.items():
            for key, term in self.moved_by(what):
                if read := findings(term, key[1], of_kind, self._weights):
                    found.setdefault(key, []).extend(read)
        for subject, items in (("opponent", situation.opponent), ("context", situation.context)):
            for name, value in items.items():
                what = f"{subject}.{name}"
                for key, term in self.moved_by(what):
                    if finding := profile_finding(term, self._rulebook.kinds[what], value):
                        found.setdefault(key, []).append(finding)
        return found

    def _beliefs(
        self, group: _Group, weighed: Mapping[TraitKey, tuple[Contribution, ...]]
    ) -> Iterator[tuple[TraitKey, Belief]]:
        """The beliefs of one group, given what moves any of them."""
        contributions = [weighed.get(key, ()) for key in group.keys]
        probabilities = exclusive(group.priors, list(map(_by_phase, contributions)), self._ceiling)
        for key, prior, p, moved in zip(group.keys, group.priors, probabilities, contributions, strict=True):
            yield key, Belief(*key, prior, p, moved)


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


def family_weighted(parts: Iterable[Finding], half: float) -> tuple[Contribution, ...]:
    """Weigh one trait's findings by family, strongest contribution first.

    A family is all findings of one phase that point the same way: the strongest counts in full, the others by
    `half`, so that many views of one thing do not pass for many things.
    """
    weighed: list[Contribution] = []
    begun: set[tuple[Phase, bool]] = set()
    strongest_first = sorted(parts, key=lambda f: (-abs(f.log_odds), f.term.what, f.text))
    for term, phase, log_odds, chances, observations, text in strongest_first:
        if log_odds:
            family = (phase, log_odds > 0)
            weight = half if family in begun else 1.0
            begun.add(family)
            weighed.append(Contribution(term.what, phase, log_odds * weight, chances, observations, text))
    return tuple(sorted(weighed, key=lambda c: (-abs(c.log_odds), c.what, c.text)))


def _by_phase(parts: Iterable[Contribution]) -> tuple[float, float]:
    """Log odds (before the first game, in games)."""
    by_phase: tuple[list[float], list[float]] = [], []
    for c in parts:
        by_phase[c.phase is Phase.GAMES].append(c.log_odds)
    return fsum(by_phase[False]), fsum(by_phase[True])


@dataclass(frozen=True, slots=True)
class Move:
    """The largest change of a belief (0 to 1) by one more chance of a kind, and the counts before it."""

    kind: str
    trait: str
    change: float
    before: tuple[int, ...]


def largest_moves(rulebook: Rulebook) -> Iterator[Move]:
    """Yield, for every kind that can be counted and every trait that it moves, the largest one-chance change.

    From the trait's own prior, whatever has been counted of the kind before (up to 40 chances, 16 for spots).
    Where one kind speaks on several traits of which at most one holds, all of them move together. Games are
    taken, as the ceiling of the warm-up can only shorten a move.
    """
    for kind in rulebook.kinds.values():
        if Way.COUNT in kind.ways or Way.COUNTS in kind.ways:
            for group in _groups(rulebook):
                terms = [_term(trait, kind) for trait in group]
                for place, trait in enumerate(group):
                    if terms[place] is not None:
                        yield _largest(kind, group, terms, place, trait)


def _groups(rulebook: Rulebook) -> list[list[Trait]]:
    groups: dict[str, list[Trait]] = {}
    for trait in rulebook.traits.values():
        groups.setdefault(f"*{trait.excludes}" if trait.excludes else trait.id, []).append(trait)
    return list(groups.values())


def _term(trait: Trait, kind: ObservationKind) -> Term | None:
    """The trait's strongest-prior term on counts of the kind; several differ only by wing or court."""
    counted = (t for t in trait.terms if t.what == kind.id and t.form in (TermForm.SHARES, TermForm.FAVOURITE))
    return max(counted, key=lambda t: t.kappa, default=None)


def _largest(kind: ObservationKind, group: list[Trait], terms: list[Term | None], place: int, trait: Trait) -> Move:
    beliefs: dict[tuple[int, ...], float] = {}

    def belief(counts: tuple[int, ...]) -> float:
        if counts not in beliefs:
            moves = [(0.0, _log_odds(term, counts)) for term in terms]
            beliefs[counts] = exclusive([t.prior for t in group], moves, 1.0)[place]
        return beliefs[counts]

    own = terms[place]
    spots = own is not None and own.form is TermForm.FAVOURITE
    best = Move(kind.id, trait.id, 0.0, ())
    for counts in _all_counts(len(kind.options) if spots else 2, MOST_SPOT_CHANCES if spots else MOST_CHANCES):
        for option in range(len(counts)):
            after = tuple(n + (i == option) for i, n in enumerate(counts))
            change = abs(belief(after) - belief(counts))
            if change > best.change:
                best = Move(kind.id, trait.id, change, counts)
    return best


def _log_odds(term: Term | None, counts: tuple[int, ...]) -> float:
    """Counts are (hits, misses) for shares and one number an option for spots."""
    if term is None:
        return 0.0
    if term.form is TermForm.FAVOURITE:
        return favourite_log_odds(counts, term.p_if_true, term.kappa, term.base)
    return share_log_odds(counts[0], sum(counts), term.p_if_true, term.p_if_false, term.kappa)


def _all_counts(options: int, most: int) -> Iterator[tuple[int, ...]]:
    if options == 1:
        yield from ((n,) for n in range(most + 1))
        return
    for first in range(most + 1):
        for rest in _all_counts(options - 1, most - first):
            yield (first, *rest)
