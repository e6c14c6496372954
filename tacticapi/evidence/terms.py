"""What each term of a trait makes of the entries that concern it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import fsum, log

from tacticapi.domain.situation import Observation
from tacticapi.domain.terms import Phase, Way, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.likelihood import ends_log_odds, favourite_log_odds, share_log_odds

ENDS = ("north", "south")
PAIR = 2


@dataclass(frozen=True, slots=True)
class Finding:
    """What one pooled group of entries says by one term, before family weights."""

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


def findings(
    term: Term, kind: ObservationKind, wing: Wing | None, entries: Iterable[Entry], weights: Weights
) -> list[Finding]:
    """Read the entries of the term's kind: one finding for each phase, wing and serve that was counted apart."""
    groups: dict[tuple[Phase, Wing | None, str | None], list[Entry]] = {}
    for entry in concerning(term, wing, entries):
        groups.setdefault((entry.phase, entry.observation.wing, entry.observation.serve), []).append(entry)
    found = []
    for (phase, _, _), group in groups.items():
        if term.form is TermForm.TABLE:
            found += _read_table(term, kind, phase, group, weights)
        else:
            found += _read_counts(term, kind, phase, group)
    return found


def profile_finding(term: Term, kind: ObservationKind, value: object) -> Finding | None:
    """Read an item of the opponent's profile or the context, which is posted once and never ages."""
    level = str(value)
    if term.form is not TermForm.TABLE or level not in term.table:
        return None
    return Finding(term, Phase.BEFORE, _level_log_odds(term, level), 0.0, (), f"{kind.says}: {level}")


def concerning(term: Term, wing: Wing | None, entries: Iterable[Entry]) -> list[Entry]:
    """The entries of the term's kind that it reads for the belief of this wing."""
    return [e for e in entries if _concerns(term, wing, e.observation)]


def _concerns(term: Term, wing: Wing | None, seen: Observation) -> bool:
    of_its_kind = term.serve in (None, seen.serve) and term.court in (None, seen.court)
    return of_its_kind and _concerns_wing(term, wing, seen.wing)


def _concerns_wing(term: Term, belief_wing: Wing | None, seen_wing: Wing | None) -> bool:
    if term.moves is not None and term.moves != belief_wing:
        return False
    match term.wing:
        case None:
            return True
        case "same":
            return seen_wing is not None and seen_wing == belief_wing
        case "other":
            return seen_wing is not None and belief_wing is not None and seen_wing == belief_wing.other
        case fixed:
            return seen_wing == fixed


def _read_counts(term: Term, kind: ObservationKind, phase: Phase, group: Sequence[Entry]) -> list[Finding]:
    counted = counted_by(term, kind, group)
    if not counted:
        return []
    places = tuple(e.observation.index for e in counted)
    match term.form:
        case TermForm.SHARES:
            hits, chances = pooled(counted, term.options)
            log_odds = share_log_odds(hits, chances, term.holds, term.fails, term.kappa) if chances else 0.0
        case TermForm.FAVOURITE:
            counts = spread(counted, kind)
            chances = sum(counts)
            log_odds = favourite_log_odds(counts, term.holds, term.kappa, term.base) if chances else 0.0
        case _:
            here, there = (pooled([e for e in counted if e.observation.end == end], term.options) for end in ENDS)
            chances = here[1] + there[1]
            both = here[1] > 0 and there[1] > 0
            log_odds = ends_log_odds(here, there, term.holds, term.fails) if both else 0.0
    if not chances:
        return []
    seen_chances = sum(chances_of(e) for e in counted)
    return [Finding(term, phase, log_odds, seen_chances, places, counted_text(kind, counted, term.options))]


def counted_by(term: Term, kind: ObservationKind, entries: Iterable[Entry]) -> list[Entry]:
    """The entries that say counts which the term can read."""
    return [e for e in entries if _is_counted(e, term, kind)]


def _is_counted(entry: Entry, term: Term, kind: ObservationKind) -> bool:
    way = entry.observation.way
    # a plain count beside a split is the share of the first of two options; of three or more it says none of them
    return way is Way.COUNTS or (way is Way.COUNT and (not term.options or len(kind.options) <= PAIR))


def pooled(entries: Iterable[Entry], options: tuple[str, ...] = ()) -> tuple[float, float]:
    """Weighted (hits, chances) over entries: of the count, or of these options of the counts."""
    hits: list[float] = []
    chances: list[float] = []
    for entry in entries:
        seen = entry.observation
        if seen.way is Way.COUNT:
            hits.append(entry.weight * (seen.count or 0.0))
            chances.append(entry.weight * (seen.of or 0.0))
        elif seen.counts is not None and options:
            hits.append(entry.weight * sum(seen.counts.get(option, 0.0) for option in options))
            chances.append(entry.weight * sum(seen.counts.values()))
    return fsum(hits), fsum(chances)  # fsum: the order of entries must not show


def spread(entries: Sequence[Entry], kind: ObservationKind) -> list[float]:
    """Weighted counts over entries, one an option of the kind."""
    return [fsum(e.weight * (e.observation.counts or {}).get(o, 0.0) for e in entries) for o in kind.options]


def chances_of(entry: Entry) -> float:
    """Chances that were seen, not weighted by age."""
    seen = entry.observation
    return (seen.of or 0.0) if seen.way is Way.COUNT else sum((seen.counts or {}).values())


def _read_table(
    term: Term, kind: ObservationKind, phase: Phase, group: Sequence[Entry], weights: Weights
) -> list[Finding]:
    graded = [(e, level) for e in group if (level := level_of(term, e)) is not None]
    if not graded:
        return []
    total = fsum(e.weight for e, _ in graded)
    log_odds = fsum(e.weight * _level_log_odds(term, level) for e, level in graded)
    log_odds *= min(1.0, weights.graded_entries / total)
    chances = sum(weights.rating_chances if e.observation.way is Way.RATING else 1 for e, _ in graded)
    places = tuple(e.observation.index for e, _ in graded)
    said = ", ".join(dict.fromkeys(graded_text(e, kind) for e, _ in graded))
    return [Finding(term, phase, log_odds, chances, places, f"{kind.says}: {said}")]


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


def graded_text(entry: Entry, kind: ObservationKind) -> str:
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


def counted_text(kind: ObservationKind, entries: Sequence[Entry], options: tuple[str, ...] = ()) -> str:
    """What was counted over all entries, unweighted: "middle balls taken on the forehand: 5 of 8"."""
    raw = [Entry(e.observation, e.phase, 1.0) for e in entries]
    wing = entries[0].observation.wing
    side = f" ({wing})" if wing and wing not in kind.says else ""
    if raw[0].observation.way is Way.COUNT:
        hits, chances = pooled(raw)
        return f"{kind.says}{side}: {hits:g} of {chances:g}"
    sums: dict[str, float] = {}
    for entry in raw:
        for option, count in (entry.observation.counts or {}).items():
            sums[option] = sums.get(option, 0.0) + count
    return f"{kind.says}{side}: {spread_text(sums)}"


def spread_text(counts: Mapping[str, float]) -> str:
    """Counts by option in words: "wide 6, T 1"; options never seen are left out."""
    return ", ".join(f"{option} {count:g}" for option, count in counts.items() if count) or "none"
