"""What each term of a trait makes of the entries that concern it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum, log
from typing import NamedTuple

from tacticapi.domain.terms import Phase, Way, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.likelihood import ends_log_odds, favourite_log_odds, share_log_odds
from tacticapi.evidence.pools import Pool, pooled, spread

ENDS = ("north", "south")


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
            log_odds = share_log_odds(hits, chances, term.holds, term.fails, term.kappa)
        case TermForm.FAVOURITE:
            counts = spread(entries, pool.kind)
            chances = sum(counts)
            log_odds = favourite_log_odds(counts, term.holds, term.kappa, term.base)
        case _:
            here, there = (pooled([e for e in entries if e.observation.end == end], term.options) for end in ENDS)
            chances = here[1] + there[1]
            both = here[1] > 0 and there[1] > 0
            log_odds = ends_log_odds(here, there, term.holds, term.fails) if both else 0.0
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
