"""How far one more chance of one kind can move a belief: the check behind "small numbers move little"."""

from collections.abc import Iterator
from dataclasses import dataclass

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.domain.trait import Term, TermForm, Trait
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence.believe import exclusive
from tacticapi.evidence.likelihood import favourite_log_odds, share_log_odds

MOST_CHANCES = 40
MOST_SPOT_CHANCES = 16


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
        return favourite_log_odds(counts, term.holds, term.kappa, term.base)
    return share_log_odds(counts[0], sum(counts), term.holds, term.fails, term.kappa)


def _all_counts(options: int, most: int) -> Iterator[tuple[int, ...]]:
    if options == 1:
        yield from ((n,) for n in range(most + 1))
        return
    for first in range(most + 1):
        for rest in _all_counts(options - 1, most - first):
            yield (first, *rest)
