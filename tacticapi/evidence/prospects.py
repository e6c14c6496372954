"""What there is to look at: every kind that can say something of a trait, from new and from where it stands.

How many chances one look brings is a model default. Terms that compare the two ends are left out: one look does not
see both ends.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import fsum

from tacticapi.domain.look import Outlook, TraitKey
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Phase, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence.believe import EvidenceModel
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.outlook import favourite_outlook, known_favourites, shares_outlook
from tacticapi.evidence.pools import Pool, counted_by, pooled, spread
from tacticapi.evidence.terms import concerns

UNSEEN_SUBJECTS = frozenset({"own", "context", "plan", "record"})
"""What no look at the opponent can show."""


@dataclass(frozen=True, slots=True)
class Prospect:
    """A look at one kind for one trait: the term by which it speaks, the chances that it brings, what it may show.

    `unseen` is the outlook while the kind has not been seen; once it has been, a look tells no more than the best of
    `again`.
    """

    kind: ObservationKind
    term: Term
    chances: int
    unseen: Outlook
    again: tuple[Outlook, ...]


class Prospects:
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

    def to_come(self, phases: Sequence[Phase]) -> list[Prospect]:
        """The looks at every kind that shows in one of these phases, taken in the first of them."""
        found = []
        for kind, key, term in self._terms:
            phase = next((phase for phase in phases if phase in kind.phases), None)
            if phase is not None:
                found.append(self._prospect(kind, key, term, self._chances[phase]))
        return found

    def _prospect(self, kind: ObservationKind, key: TraitKey, term: Term, chances: int) -> Prospect:
        table = term.form is TermForm.TABLE
        holds, fails = zip(*term.table.values(), strict=True) if table else _after(term, kind, (), chances)
        unseen = Outlook(kind.id, *key, look_wing(term, key[1]), holds, fails)
        again = [(holds, fails)]
        if term.form is TermForm.FAVOURITE:
            again = known_favourites(term.holds, term.kappa, term.base, chances)
        return Prospect(kind, term, chances, unseen, tuple(_with(unseen, *outcomes) for outcomes in again))

    def now(self, prospect: Prospect, pools: Mapping[str, Sequence[Pool]]) -> Outlook | None:
        """What the look may show after what these pools have shown; None where one more is only averaged in."""
        kind, term, first = prospect.kind, prospect.term, prospect.unseen
        if kind.id not in pools:
            return first
        group = [
            entry for pool in pools[kind.id] if concerns(term, first.wing, pool) for entry in pool.on_court(term.court)
        ]
        if not group:
            return first
        if term.form is TermForm.TABLE:
            return first if fsum([entry.weight for entry in group]) < self._graded else None
        return _with(first, *_after(term, kind, group, prospect.chances))


def _with(outlook: Outlook, holds: tuple[float, ...], fails: tuple[float, ...]) -> Outlook:
    return Outlook(outlook.what, outlook.trait, outlook.wing, outlook.on_wing, holds, fails)


def _after(
    term: Term, kind: ObservationKind, group: Sequence[Entry], chances: int
) -> tuple[tuple[float, ...], tuple[float, ...]]:
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
