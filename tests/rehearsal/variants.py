"""Rulebooks that differ from the published one in one way, to ask how much hangs on it. Nothing is written back."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Effect, Fitted
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
            return replace(term, p_if_true=_inside(even + (term.p_if_true - even) * factor))
        case _:
            middle = (term.p_if_true + term.p_if_false) / 2
            holds, fails = (_inside(middle + (share - middle) * factor) for share in (term.p_if_true, term.p_if_false))
            return replace(term, p_if_true=holds, p_if_false=fails)


def _sharpened(table: Mapping[str, tuple[float, float]], factor: float) -> dict[str, tuple[float, float]]:
    """The table with each likelihood ratio raised to `factor`, the column "holds" scaled to sum to 1 again."""
    raised = {level: fails * (holds / fails) ** factor for level, (holds, fails) in table.items()}
    total = sum(raised.values())
    return {level: (raised[level] / total, fails) for level, (_, fails) in table.items()}


def _inside(share: float) -> float:
    return min(1.0 - EDGE, max(EDGE, share))


def gains_times(rulebook: Rulebook, factor: float) -> Rulebook:
    """Every gain and loss times `factor`, those from simulation too."""
    tactics = {name: replace(t, effect=_effect_times(t.effect, factor)) for name, t in rulebook.tactics.items()}
    return replace(rulebook, tactics=tactics)


def _effect_times(effect: Effect, factor: float) -> Effect:
    fitted = {wing: _fitted_times(gain, factor) for wing, gain in effect.fitted.items()}
    return replace(effect, gain=effect.gain * factor, loss=effect.loss * factor, fitted=fitted)


def _fitted_times(gain: Fitted, factor: float) -> Fitted:
    return Fitted(
        gain.base * factor,
        gain.open * factor,
        {key: part * factor for key, part in gain.beliefs.items()},
        {key: part * factor for key, part in gain.strokes.items()},
        gain.same_handed * factor,
    )


def published(rulebook: Rulebook) -> Rulebook:
    """The rulebook as it is."""
    return rulebook


def halved(rulebook: Rulebook) -> Rulebook:
    """All evidence at half its strength."""
    return evidence_times(rulebook, 0.5)


def doubled(rulebook: Rulebook) -> Rulebook:
    """All evidence at twice its strength."""
    return evidence_times(rulebook, 2.0)


def all_halved(rulebook: Rulebook) -> Rulebook:
    """All evidence and all gains at half their size."""
    return gains_times(halved(rulebook), 0.5)


def all_doubled(rulebook: Rulebook) -> Rulebook:
    """All evidence and all gains at twice their size."""
    return gains_times(doubled(rulebook), 2.0)


VARIANTS: Final[Mapping[str, Callable[[Rulebook], Rulebook]]] = {
    "published": published,
    "evidence halved": halved,
    "evidence doubled": doubled,
    "all halved": all_halved,
    "all doubled": all_doubled,
}
