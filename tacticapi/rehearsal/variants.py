"""Rulebooks that differ from the published one in one way, to ask how much hangs on it. Nothing is written back."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Alternative, Condition, FactKind, Op, Tactic, Test
from tacticapi.domain.terms import Show
from tacticapi.domain.trait import Term, TermForm, Trait

EDGE: Final = 0.02  # shares stay so far from 0 and 1


def evidence_times(rulebook: Rulebook, factor: float) -> Rulebook:
    """Every piece of evidence with `factor` times its log-likelihood ratio (tables) or its gap of shares."""
    traits = {name: _scaled(trait, factor) for name, trait in rulebook.traits.items()}
    return replace(rulebook, traits=traits)


def _scaled(trait: Trait, factor: float) -> Trait:
    return replace(trait, terms=tuple(_scaled_term(term, factor) for term in trait.terms))


def _scaled_term(term: Term, factor: float) -> Term:
    match term.form:
        case TermForm.TABLE:
            return replace(term, table=_sharpened(term.table, factor))
        case TermForm.FAVOURITE:
            even = 1.0 / max(1, len(term.base))
            return replace(term, holds=_inside(even + (term.holds - even) * factor))
        case _:
            middle = (term.holds + term.fails) / 2
            holds, fails = (_inside(middle + (share - middle) * factor) for share in (term.holds, term.fails))
            return replace(term, holds=holds, fails=fails)


def _sharpened(table: Mapping[str, tuple[float, float]], factor: float) -> dict[str, tuple[float, float]]:
    """The table with each likelihood ratio raised to `factor`, the column "holds" scaled to sum to 1 again."""
    raised = {level: fails * (holds / fails) ** factor for level, (holds, fails) in table.items()}
    total = sum(raised.values())
    return {level: (raised[level] / total, fails) for level, (_, fails) in table.items()}


def _inside(share: float) -> float:
    return min(1.0 - EDGE, max(EDGE, share))


def without_gates(rulebook: Rulebook) -> Rulebook:
    """Tactics speak at any belief in their traits: value alone decides, no threshold."""
    return _tactics(rulebook, _without_gates)


def _without_gates(tactic: Tactic) -> Tactic:
    if tactic.show is not Show.GAIN:
        return tactic
    return replace(tactic, when=tuple(_opened(a) for a in tactic.when))


def _opened(alternative: Alternative) -> Alternative:
    return replace(alternative, conditions=tuple(_ungated(c) for c in alternative.conditions))


def _ungated(condition: Condition) -> Condition:
    if condition.kind is not FactKind.BELIEF:
        return condition
    tests = tuple(replace(t, value=0) if _is_gate(t) else t for t in condition.tests)
    return replace(condition, tests=tests)


def _is_gate(test: Test) -> bool:
    return test.field == "permille" and test.op is Op.AT_LEAST


def evidence_first(rulebook: Rulebook) -> Rulebook:
    """Tactics that rest on no trait are reminders: they stand behind all that rests on what was seen."""
    return _tactics(
        rulebook, lambda t: t if t.show is not Show.GAIN or rests_on_trait(t) else replace(t, show=Show.REMINDER)
    )


def rests_on_trait(tactic: Tactic) -> bool:
    """Whether some alternative of a tactic asks for a belief."""
    return any(c.kind is FactKind.BELIEF for a in tactic.when for c in a.conditions)


def _tactics(rulebook: Rulebook, change: Callable[[Tactic], Tactic]) -> Rulebook:
    return replace(rulebook, tactics={name: change(tactic) for name, tactic in rulebook.tactics.items()})


def published(rulebook: Rulebook) -> Rulebook:
    """The rulebook as it is."""
    return rulebook


def halved(rulebook: Rulebook) -> Rulebook:
    """All evidence at half its strength."""
    return evidence_times(rulebook, 0.5)


def doubled(rulebook: Rulebook) -> Rulebook:
    """All evidence at twice its strength."""
    return evidence_times(rulebook, 2.0)


def evidence_first_without_gates(rulebook: Rulebook) -> Rulebook:
    """Both of the changes above."""
    return without_gates(evidence_first(rulebook))


VARIANTS: Final[Mapping[str, Callable[[Rulebook], Rulebook]]] = {
    "published": published,
    "evidence halved": halved,
    "evidence doubled": doubled,
    "no belief thresholds": without_gates,
    "evidence before circumstance": evidence_first,
    "evidence before circumstance, no belief thresholds": evidence_first_without_gates,
}
