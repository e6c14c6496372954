"""How much more likely what was seen is if a trait holds than if it does not, as log odds, term by term.

The Beta-Binomial and Dirichlet-multinomial forms are textbook; the shares and sizes they are fed with are
model defaults of ours. Counts may be fractions, because older games count for less.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, fsum, lgamma, log, log1p, sqrt
from typing import NamedTuple

from tacticapi.domain.rules import ObservationKind, Term, TermForm
from tacticapi.domain.situation import Phase, Way, Wing
from tacticapi.evidence.entries import Entry, Pool, pooled, spread

OWN_LEVEL = 2.0  # strokes that the usual share of errors is worth before a player's own are counted (model default)
NODES = 64  # of the midpoint rule
WIDTHS = 8.0  # standard deviations on either side that it covers
ENDS = ("north", "south")


@lru_cache(maxsize=4096)
def log_beta(a: float, b: float) -> float:
    """Logarithm of the Beta function for a, b > 0."""
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def log_beta_binomial(successes: float, chances: float, share: float, size: float) -> float:
    """Log chance of a given sequence with so many successes under Beta(share*size, (1-share)*size).

    The binomial coefficient is left out: it cancels in every ratio. 0 <= successes <= chances, 0 < share < 1.
    """
    a, b = share * size, (1.0 - share) * size
    return log_beta(a + successes, b + chances - successes) - log_beta(a, b)


def share_log_odds(successes: float, chances: float, holds: float, fails: float, size: float) -> float:
    """What a count of successes out of chances adds to the log odds of a trait.

    >>> round(share_log_odds(5, 8, 0.78, 0.655, 12), 3) < 0
    True
    """
    with_trait = log_beta_binomial(successes, chances, holds, size)
    return with_trait - log_beta_binomial(successes, chances, fails, size)


def log_dirichlet_multinomial(counts: Sequence[float], alphas: Sequence[float]) -> float:
    """Log chance of a given sequence with these counts under Dirichlet(alphas); the coefficient is left out."""
    total, size = sum(counts), sum(alphas)
    parts = sum(lgamma(a + n) - lgamma(a) for a, n in zip(alphas, counts, strict=True))
    return lgamma(size) - lgamma(size + total) + parts


def favourite_log_odds(counts: Sequence[float], share: float, size: float, base: Sequence[float]) -> float:
    """What the spread over options adds to the log odds that one option is the favourite.

    The favourite is unknown, so it is averaged over the options in proportion to `base` (never the largest
    count picked afterwards); without a favourite the options follow `base`. `share` is the favourite's share,
    `size` the Dirichlet total.
    """
    fails = log_dirichlet_multinomial(counts, spot_alphas(size, base))
    favourites = favourite_alphas(share, size, base)
    return log(sum(weight * exp(log_dirichlet_multinomial(counts, alphas) - fails) for weight, alphas in favourites))


def spot_alphas(size: float, base: Sequence[float]) -> list[float]:
    """The Dirichlet of the options without a favourite: in proportion to `base`."""
    total = sum(base)
    return [size * b / total for b in base]


def favourite_alphas(share: float, size: float, base: Sequence[float]) -> list[tuple[float, list[float]]]:
    """Each option as the favourite: the chance that it is, and the Dirichlet of the options then."""
    total = sum(base)
    found = []
    for spot, weight in enumerate(base):
        rest = total - weight
        alphas = [size * (share if i == spot else (1 - share) * b / rest) for i, b in enumerate(base)]
        found.append((weight / total, alphas))
    return found


def ends_log_odds(one: tuple[float, float], other: tuple[float, float], worse: float, usual: float) -> float:
    """What errors at two ends add to the log odds that conditions unsettle a player at one of them.

    Each end is (errors, strokes). Which end is the worse one, and how many errors the player makes anyway, are
    unknown and averaged over, so that many errors at both ends alike speak against it. The two ends stand as far
    apart, in log odds, as `worse` and `usual`. Midpoint rule on the log odds of the player's share.
    """
    prior = (usual * OWN_LEVEL, OWN_LEVEL)
    total = prior[1] + one[1] + other[1]
    middle = (prior[0] + one[0] + other[0]) / total
    half = (_logit(worse) - _logit(usual)) / 2
    reach = WIDTHS / sqrt(total * middle * (1.0 - middle)) + half
    grid = [_logit(middle) + reach * ((2 * i + 1) / NODES - 1.0) for i in range(NODES)]
    base = [_log_chance(prior, x) for x in grid]

    def averaged(shift: float) -> float:
        return _log_sum(
            [_log_chance(one, x + shift) + _log_chance(other, x - shift) + b for x, b in zip(grid, base, strict=True)]
        )

    return _log_sum([averaged(half), averaged(-half)]) - log(2) - averaged(0.0)


def _logit(share: float) -> float:
    return log(share / (1.0 - share))


def _log_chance(counted: tuple[float, float], log_odds: float) -> float:
    """Log chance of (hits, chances) in a given sequence at a share with these log odds."""
    hits, chances = counted
    return -hits * log1p(exp(-log_odds)) - (chances - hits) * log1p(exp(log_odds))


def _log_sum(logs: Sequence[float]) -> float:
    top = max(logs)
    return top + log(fsum(exp(x - top) for x in logs))


class Finding(NamedTuple):
    """What one pool of entries says by one term, before family weights."""

    term: Term
    phase: Phase
    log_odds: float
    chances: float
    observations: tuple[int, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Weights:
    """Model defaults that the readings share: how many graded entries count, and the chances behind one."""

    graded_entries: int
    rating_chances: int


def findings(term: Term, wing: Wing | None, pools: Iterable[Pool], weights: Weights) -> list[Finding]:
    """Read the pools of the term's kind for the belief of this wing: at most one finding a pool."""
    found = []
    for pool in pools:
        if concerns(term, wing, pool):
            finding = _read_table(term, pool, weights) if term.form is TermForm.TABLE else _read_counts(term, pool)
            if finding is not None:
                found.append(finding)
    return found


def profile_finding(term: Term, kind: ObservationKind, value: object) -> Finding | None:
    """Read an item of the opponent's profile or the context, which is posted once and never ages."""
    level = str(value)
    if term.form is not TermForm.TABLE or level not in term.table:
        return None
    return Finding(term, Phase.BEFORE, _level_log_odds(term, level), 0.0, (), f"{kind.says}: {level}")


def concerns(term: Term, wing: Wing | None, pool: Pool) -> bool:
    """Whether the term reads the wing and serve of the pool for the belief of this wing."""
    if term.serve is not None and term.serve != pool.serve:
        return False
    match term.wing:
        case None:
            return True
        case "same":
            return pool.wing is not None and pool.wing == wing
        case "other":
            return pool.wing is not None and wing is not None and pool.wing == wing.other
        case fixed:
            return pool.wing == fixed


def _read_counts(term: Term, pool: Pool) -> Finding | None:
    counted = pool.counted(term)
    if counted is None:
        return None
    entries = counted.entries
    match term.form:
        case TermForm.SHARES:
            hits, chances = pooled(entries, term.options)
            log_odds = share_log_odds(hits, chances, term.p_if_true, term.p_if_false, term.kappa)
        case TermForm.FAVOURITE:
            counts = spread(entries, pool.kind)
            chances = sum(counts)
            log_odds = favourite_log_odds(counts, term.p_if_true, term.kappa, term.base)
        case _:
            here, there = (pooled([e for e in entries if e.observation.end == end], term.options) for end in ENDS)
            chances = here[1] + there[1]
            both = here[1] > 0 and there[1] > 0
            log_odds = ends_log_odds(here, there, term.p_if_true, term.p_if_false) if both else 0.0
    if not chances:
        return None
    return Finding(term, pool.phase, log_odds, counted.chances, counted.places, counted.text)


def _read_table(term: Term, pool: Pool, weights: Weights) -> Finding | None:
    graded = [(e, level) for e in pool.on_court(term.court) if (level := level_of(term, e)) is not None]
    if not graded:
        return None
    log_odds = fsum([e.weight * _level_log_odds(term, level) for e, level in graded])
    log_odds *= min(1.0, weights.graded_entries / fsum([e.weight for e, _ in graded]))
    chances = sum([weights.rating_chances if e.observation.way is Way.RATING else 1 for e, _ in graded])
    places = tuple([e.observation.index for e, _ in graded])
    return Finding(term, pool.phase, log_odds, chances, places, _graded_text(pool.kind, [e for e, _ in graded]))


def level_of(term: Term, entry: Entry) -> str | None:
    """The level of the term's table that the entry says, None where the table has none for it."""
    seen = entry.observation
    if seen.way is Way.AMOUNT:
        amount = seen.amount if seen.amount is not None else 0.0
        return next((name for name, low, high in term.bands if low <= amount < high), None)
    if seen.way is Way.RATING:
        level = str(round(seen.rating if seen.rating is not None else 0.0))
    elif seen.way in (Way.SEEN, Way.TEXT):
        level = "not-seen" if seen.seen is False else "seen"
    else:
        level = str(seen.value)
    return level if level in term.table else None


def _level_log_odds(term: Term, level: str) -> float:
    holds, fails = term.table[level]
    return log(holds / fails)


def _graded_text(kind: ObservationKind, entries: Sequence[Entry]) -> str:
    said = ", ".join(dict.fromkeys([graded_words(entry, kind) for entry in entries]))
    return f"{kind.says}: {said}"


def graded_words(entry: Entry, kind: ObservationKind) -> str:
    """What was said, as a person reads it: "rated 1 of 4", "38 s", "high", "seen"."""
    seen = entry.observation
    match seen.way:
        case Way.RATING:
            return f"rated {seen.rating:g} of 4"
        case Way.AMOUNT:
            return f"{seen.amount:g}" + (f" {kind.unit}" if kind.unit else "")
        case Way.SEEN | Way.TEXT:
            return "not seen" if seen.seen is False else "seen"
        case _:
            return str(seen.value)
