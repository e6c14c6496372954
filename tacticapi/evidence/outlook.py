"""What a further look could show: the chances of every outcome, if a trait holds and if it does not.

The chances are those of the trait's own terms after what has been counted of the same kind: a share follows the
Beta-Binomial, spots the Dirichlet-multinomial, both updated by the counts so far (textbook conjugacy); a rating or
a sign follows its table. How many chances one look brings is a model default. Terms that compare the two ends are
left out: one look does not see both ends.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import accumulate
from math import exp, factorial, fsum, prod
from operator import getitem, mul

from tacticapi.domain.look import Outlook, TraitKey
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Phase, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence.believe import EvidenceModel
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.likelihood import favourite_alphas, log_dirichlet_multinomial, spot_alphas
from tacticapi.evidence.pools import Pool, counted_by, pooled, spread
from tacticapi.evidence.terms import concerns

Mixture = Sequence[tuple[float, Sequence[float]]]
"""Dirichlet distributions over the outcomes of one chance, each with its weight; the weights sum to 1."""

UNSEEN_SUBJECTS = frozenset({"own", "context", "plan", "record"})
"""What no look at the opponent can show."""


class Prospects:
    """What there is to look at, by the phases still to come."""

    def __init__(self, rulebook: Rulebook, model: EvidenceModel, wanted: Collection[TraitKey]) -> None:
        """Collect the terms by which each kind speaks on a `wanted` trait; nothing changes afterwards."""
        self._terms: dict[str, list[tuple[TraitKey, Term]]] = {}
        for kind in rulebook.kinds.values():
            terms = [(key, t) for key, t in model.moved_by(kind.id) if key in wanted and t.form is not TermForm.ENDS]
            if terms and kind.subject not in UNSEEN_SUBJECTS and not kind.health:
                self._terms[kind.id] = terms
        self._kinds = rulebook.kinds
        self._chances = {Phase(name): int(n) for name, n in rulebook.defaults["looks"]["chances"].items()}
        self._graded = int(rulebook.defaults["evidence"]["graded_entries"])

    def unseen(self, phases: Sequence[Phase]) -> tuple[Outlook, ...]:
        """The outlooks of every kind that shows in one of these phases, as if none had been seen yet."""
        return tuple(o for kind, terms in self._terms.items() for o in self._of_kind(kind, phases, (), terms))

    def seen(
        self, phases: Sequence[Phase], pools: Mapping[str, Sequence[Pool]], wanted: Collection[TraitKey]
    ) -> tuple[Outlook, ...]:
        """The outlooks on `wanted` traits of the kinds that these pools have shown, from where they stand now."""
        outlooks: list[Outlook] = []
        for name, of_kind in pools.items():
            terms = [(key, term) for key, term in self._terms.get(name, ()) if key in wanted]
            if terms:
                outlooks += self._of_kind(name, phases, of_kind, terms)
        return tuple(outlooks)

    def _of_kind(
        self, name: str, phases: Sequence[Phase], seen: Sequence[Pool], terms: Iterable[tuple[TraitKey, Term]]
    ) -> Iterator[Outlook]:
        kind = self._kinds[name]
        phase = next((phase for phase in phases if phase in kind.phases), None)
        if phase is None:
            return
        for (trait, wing), term in terms:
            group = [e for pool in seen if concerns(term, wing, pool) for e in pool.on_court(term.court)]
            chances = self._outcomes(term, kind, group, self._chances[phase])
            if chances:
                yield Outlook(name, trait, wing, look_wing(term, wing), *chances)

    def _outcomes(
        self, term: Term, kind: ObservationKind, group: Sequence[Entry], chances: int
    ) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
        if term.form is TermForm.TABLE:
            if fsum([e.weight for e in group]) >= self._graded:
                return None  # one more would only be averaged in
            columns = tuple(zip(*term.table.values(), strict=True))
            return columns[0], columns[1]
        counted = counted_by(term, kind, group)
        if term.form is TermForm.SHARES:
            return shares_outlook(term, pooled(counted, term.options), chances)
        return favourite_outlook(term.holds, term.kappa, term.base, tuple(spread(counted, kind)), chances)


def look_wing(term: Term, wing: Wing | None) -> Wing | None:
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


def shares_outlook(term: Term, seen: tuple[float, float], chances: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of 0 to `chances` hits if the trait holds and if not, after so many (hits, chances) seen."""
    hits, misses = seen[0], seen[1] - seen[0]
    holds, fails = (
        beta_binomial(share * term.kappa + hits, (1.0 - share) * term.kappa + misses, chances)
        for share in (term.holds, term.fails)
    )
    return holds, fails


@lru_cache(maxsize=4096)
def beta_binomial(a: float, b: float, chances: int) -> tuple[float, ...]:
    """The chances of 0 to `chances` hits under Beta(a, b), each from the one before.

    >>> [round(p, 3) for p in beta_binomial(8, 4, 5)]
    [0.013, 0.064, 0.165, 0.275, 0.302, 0.181]
    """
    chance = prod((b + n) / (a + b + n) for n in range(chances))
    result = [chance]
    for hits in range(chances):
        chance *= (chances - hits) * (a + hits) / ((hits + 1) * (b + chances - hits - 1))
        result.append(chance)
    return tuple(result)


@lru_cache(maxsize=1024)
def favourite_outlook(
    share: float, size: float, base: tuple[float, ...], seen: tuple[float, ...], chances: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Chances of every spread of `chances` over the options if there is a favourite and if not, after `seen`.

    `share`, `size` and `base` as in `favourite_log_odds`. What was seen also says which option the favourite would be.
    """
    favourites = favourite_alphas(share, size, base)
    logs = [log_dirichlet_multinomial(seen, alphas) for _, alphas in favourites]
    told = [weight * exp(log - max(logs)) for (weight, _), log in zip(favourites, logs, strict=True)]
    holds = [(w / sum(told), _after(alphas, seen)) for w, (_, alphas) in zip(told, favourites, strict=True)]
    fails = [(1.0, _after(spot_alphas(size, base), seen))]
    return predictive(holds, chances), predictive(fails, chances)


def _after(alphas: Sequence[float], seen: Sequence[float]) -> list[float]:
    return [a + n for a, n in zip(alphas, seen, strict=True)]


def predictive(mixture: Mixture, chances: int) -> tuple[float, ...]:
    """The chance of every way in which so many chances may fall, in the order of `spreads`.

    Dirichlet-multinomial, by rising factorials.

    >>> [round(p, 3) for p in predictive([(1.0, (1.0, 1.0))], 2)]
    [0.333, 0.333, 0.333]
    """
    result = [0.0] * len(spreads(len(mixture[0][1]), chances))
    for weight, alphas in mixture:
        rises = [_rising(alpha, chances) for alpha in alphas]
        scale = weight / _rising(sum(alphas), chances)[chances]
        for place, (counts, orders) in enumerate(spreads(len(alphas), chances)):
            result[place] += scale * orders * prod(map(getitem, rises, counts))
    return tuple(result)


def _rising(x: float, most: int) -> list[float]:
    """x (x+1) ... (x+n-1) for n from 0 to `most`."""
    return list(accumulate((x + n for n in range(most)), mul, initial=1.0))


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
