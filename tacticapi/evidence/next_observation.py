"""What the next observation could show: every kind that can say something of a trait, and the chances of its outcomes.

The chances, if a trait holds and if it does not, are those of the trait's own terms after what has been counted of the
same kind: a share follows the Beta-Binomial, spots the Dirichlet-multinomial, both updated by the counts so far
(textbook conjugacy). How many chances one observation brings is a model default. Terms that compare the two ends are
left out: one observation does not see both ends.

After counts the next observation tells less than the first one: in terms of Polya's urn the counts are balls that are
the same whether the trait holds or not. A chance that draws one of them says nothing, the others fall as at first, and
there are no more of them. Counts may tell which option would be the favourite, so of spots this holds for each
favourite alone.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, repeat
from math import exp, factorial, fsum, prod
from operator import add, mul

from tacticapi.domain.reasoning import Predictive
from tacticapi.domain.rules import ObservationKind, Rulebook, Term, TermForm, TraitKey
from tacticapi.domain.situation import Phase, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.entries import Entry, Pool, counted_by, pooled, spread
from tacticapi.evidence.likelihood import concerns, favourite_alphas, log_dirichlet_multinomial, spot_alphas

Mixture = Sequence[tuple[float, Sequence[float]]]
"""Dirichlet distributions over the outcomes of one chance, each with its weight; the weights sum to 1."""

UNSEEN_SUBJECTS = frozenset({"own", "context", "plan", "record"})
"""What no look at the opponent can show."""


@dataclass(frozen=True, slots=True)
class NextObservation:
    """A look at one kind for one trait: the term by which it speaks, the chances that it brings, what it may show.

    `unseen` is what it predicts while the kind has not been seen; once it has been, it tells no more than the best of
    `again`.
    """

    kind: ObservationKind
    term: Term
    chances: int
    unseen: Predictive
    again: tuple[Predictive, ...]


class NextObservations:
    """What there is to look at, by the phases still to come."""

    def __init__(self, rulebook: Rulebook, model: EvidenceModel, wanted: Collection[TraitKey]) -> None:
        """Collect the terms by which each kind speaks on a `wanted` trait; nothing changes afterwards."""
        self._terms: list[tuple[ObservationKind, TraitKey, Term]] = []
        for kind in rulebook.kinds.values():
            if kind.subject not in UNSEEN_SUBJECTS and not kind.health:
                terms = [(kind, *moved) for moved in model.moved_by(kind.id) if moved[0] in wanted]
                self._terms += [moved for moved in terms if moved[2].form is not TermForm.ENDS]
        self._chances = {Phase(name): int(n) for name, n in rulebook.defaults["looks"]["chances"].items()}
        self._graded = int(rulebook.defaults["evidence"]["graded_entries"])

    def to_come(self, phases: Sequence[Phase]) -> list[NextObservation]:
        """The looks at every kind that shows in one of these phases, taken in the first of them."""
        found = []
        for kind, key, term in self._terms:
            phase = next((phase for phase in phases if phase in kind.phases), None)
            if phase is not None:
                found.append(self._of(kind, key, term, self._chances[phase]))
        return found

    def _of(self, kind: ObservationKind, key: TraitKey, term: Term, chances: int) -> NextObservation:
        table = term.form is TermForm.TABLE
        holds, fails = zip(*term.table.values(), strict=True) if table else _after(term, kind, (), chances)
        unseen = Predictive(kind.id, *key, wing_to_watch(term, key[1]), holds, fails)
        again = [(holds, fails)]
        if term.form is TermForm.FAVOURITE:
            again = predict_spread_by_favourite(term.p_if_true, term.kappa, term.base, chances)
        return NextObservation(kind, term, chances, unseen, tuple(_with(unseen, *outcomes) for outcomes in again))

    def now(self, observation: NextObservation, pools: Mapping[str, Sequence[Pool]]) -> Predictive | None:
        """What the look may show after what these pools have shown; None where one more is only averaged in."""
        kind, term, first = observation.kind, observation.term, observation.unseen
        if kind.id not in pools:
            return first
        group = [
            entry for pool in pools[kind.id] if concerns(term, first.wing, pool) for entry in pool.on_court(term.court)
        ]
        if not group:
            return first
        if term.form is TermForm.TABLE:
            return first if fsum([entry.weight for entry in group]) < self._graded else None
        return _with(first, *_after(term, kind, group, observation.chances))


def _with(first: Predictive, holds: tuple[float, ...], fails: tuple[float, ...]) -> Predictive:
    return Predictive(first.what, first.trait, first.wing, first.on_wing, holds, fails)


def _after(
    term: Term, kind: ObservationKind, group: Sequence[Entry], chances: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    counted = counted_by(term, kind, group)
    if term.form is TermForm.SHARES:
        return predict_hits(term, pooled(counted, term.options), chances)
    return predict_spread(term.p_if_true, term.kappa, term.base, tuple(spread(counted, kind)), chances)


def wing_to_watch(term: Term, wing: Wing | None) -> Wing | None:
    """The wing on which a term wants its kind to be seen, None where it takes either."""
    match term.wing:
        case None:
            return None
        case "same":
            return wing
        case "other":
            return wing.other if wing else None
        case fixed:
            return Wing(fixed)


def predict_hits(term: Term, seen: tuple[float, float], chances: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of 0 to `chances` hits if the trait holds and if not, after so many (hits, chances) seen."""
    hits, misses = seen[0], seen[1] - seen[0]
    holds, fails = (
        beta_binomial(share * term.kappa + hits, (1.0 - share) * term.kappa + misses, chances)
        for share in (term.p_if_true, term.p_if_false)
    )
    return holds, fails


@lru_cache(maxsize=4096)
def beta_binomial(a: float, b: float, chances: int) -> tuple[float, ...]:
    """The chances of 0 to `chances` hits under Beta(a, b), each from the one before.

    >>> [round(p, 3) for p in beta_binomial(8, 4, 5)]
    [0.013, 0.064, 0.165, 0.275, 0.302, 0.181]
    """
    chance = 1.0
    for misses in range(chances):
        chance *= (b + misses) / (a + b + misses)
    result = [chance]
    for hits in range(chances):
        chance *= (chances - hits) * (a + hits) / ((hits + 1) * (b + chances - hits - 1))
        result.append(chance)
    return tuple(result)


@lru_cache(maxsize=1024)
def predict_spread(
    share: float, size: float, base: tuple[float, ...], seen: tuple[float, ...], chances: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of every spread of `chances` over the options if there is a favourite and if not, after `seen`.

    `share`, `size` and `base` as in `favourite_log_odds`. What was seen also says which option the favourite would be.
    """
    favourites = favourite_alphas(share, size, base)
    logs = [log_dirichlet_multinomial(seen, alphas) for _, alphas in favourites]
    told = [weight * exp(log - max(logs)) for (weight, _), log in zip(favourites, logs, strict=True)]
    holds = [(w / sum(told), _updated(alphas, seen)) for w, (_, alphas) in zip(told, favourites, strict=True)]
    fails = [(1.0, _updated(spot_alphas(size, base), seen))]
    return predictive(holds, chances), predictive(fails, chances)


def predict_spread_by_favourite(
    share: float, size: float, base: tuple[float, ...], chances: int
) -> list[tuple[tuple[float, ...], tuple[float, ...]]]:
    """As `predict_spread` before any counts, for each option as the favourite if there is one."""
    fails = predictive([(1.0, spot_alphas(size, base))], chances)
    return [(predictive([(1.0, alphas)], chances), fails) for _, alphas in favourite_alphas(share, size, base)]


def _updated(alphas: Sequence[float], seen: Sequence[float]) -> list[float]:
    return [a + n for a, n in zip(alphas, seen, strict=True)]


def predictive(mixture: Mixture, chances: int) -> tuple[float, ...]:
    """The chance of every way in which so many chances may fall, in the order of `spreads`.

    Dirichlet-multinomial, by rising factorials.

    >>> [round(p, 3) for p in predictive([(1.0, (1.0, 1.0))], 2)]
    [0.333, 0.333, 0.333]
    """
    counts, orders = _columns(len(mixture[0][1]), chances)
    total: Iterable[float] = repeat(0.0)
    for weight, alphas in mixture:
        joint: Iterable[float] = repeat(weight / _rising(sum(alphas), chances)[chances])
        for alpha, column in zip(alphas, counts, strict=True):
            joint = map(mul, joint, map(_rising(alpha, chances).__getitem__, column))
        total = list(map(add, total, joint))
    return tuple(map(mul, total, orders))


@lru_cache(maxsize=64)
def _columns(options: int, chances: int) -> tuple[tuple[tuple[int, ...], ...], tuple[int, ...]]:
    """The spreads turned about: the counts of every option, and the numbers of orders."""
    counts, orders = zip(*spreads(options, chances), strict=True)
    return tuple(zip(*counts, strict=True)), orders


def _rising(x: float, most: int) -> list[float]:
    """x (x+1) ... (x+n-1) for n from 0 to `most`."""
    return list(accumulate(map(x.__add__, range(most)), mul, initial=1.0))


@lru_cache(maxsize=64)
def spreads(options: int, chances: int) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Every way in which so many chances may fall on the options, with the number of its orders.

    With two options the first is counted up from 0, so that place i means i hits.
    """
    return tuple(
        (counts, factorial(chances) // prod(factorial(n) for n in counts)) for counts in _counts(options, chances)
    )


def _counts(options: int, chances: int) -> Iterator[tuple[int, ...]]:
    if options == 1:
        yield (chances,)
        return
    for first in range(chances + 1):
        for rest in _counts(options - 1, chances - first):
            yield (first, *rest)
