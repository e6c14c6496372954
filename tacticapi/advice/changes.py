"""Holding steady: the first suggestion stays until another is clearly better; what changed is said, and why."""

from collections.abc import Iterable, Mapping, Sequence

from tacticapi.advice.ranking import Value
from tacticapi.advice.their_play import Shift
from tacticapi.domain.advice import Changed, Held, Suggestion
from tacticapi.domain.belief import Belief, belief_name
from tacticapi.domain.firing import Priced
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Previous
from tacticapi.domain.terms import Show

REASONS_NAMED = 2


def steady(
    ordered: Sequence[Priced], values: Mapping[str, Value], previous: Previous | None, margin: float
) -> list[Priced]:
    """Keep the tactic that was first at the last advice first, unless another's match gain exceeds it by the margin.

    Only tactics ranked by gain hold their place; lines that are shown first and reminders are as they are.
    """
    gains = [item for item in ordered if item.firing.tactic.show is Show.GAIN]
    incumbent = next((i for i in gains if previous and i.firing.tactic.id == previous.first), None)
    if incumbent is None or incumbent is gains[0]:
        return list(ordered)
    lead = values[gains[0].firing.tactic.id].match - values[incumbent.firing.tactic.id].match
    if lead > margin:
        return list(ordered)
    place = ordered.index(gains[0])
    rest = [item for item in ordered if item is not incumbent]
    return [*rest[:place], incumbent, *rest[place:]]


def changed_since(
    previous: Previous | None,
    rulebook: Rulebook,
    *,
    suggestions: Sequence[Suggestion],
    values: Mapping[str, Value],
    held: Iterable[Held],
    beliefs: Iterable[Belief],
    shifts: Iterable[Shift],
) -> tuple[Changed, ...]:
    """Name what changed since the last advice: the first suggestion, beliefs by size of their move, their play."""
    lines: list[Changed] = []
    if previous is not None:
        if previous.first is not None and suggestions and suggestions[0].tactic != previous.first:
            lines.append(_first(previous.first, suggestions[0], values, held, rulebook))
        lines += _beliefs(previous, beliefs, rulebook)
    return (*lines, *(_play(shift, rulebook) for shift in shifts))


def _first(
    before: str, now: Suggestion, values: Mapping[str, Value], held: Iterable[Held], rulebook: Rulebook
) -> Changed:
    title = rulebook.tactics[before].title if before in rulebook.tactics else before
    set_aside = next((h.why for h in held if h.tactic == before), None)
    if set_aside is not None:
        why = f'"{title}" is held back: {set_aside}'
    elif before not in values:
        why = f'the conditions of "{title}" no longer hold'
    elif rulebook.tactics[now.tactic].show is Show.FIRST:
        why = "it comes before tactics that are ranked by gain"
    else:
        lead = values[now.tactic].match - values[before].match
        why = f"it is worth {lead:.3f} more of the match"
    places = tuple(sorted({r.observation for r in now.because if r.observation is not None}))
    return Changed("first", f'"{now.title}" is first now, no longer "{title}": {why}', observations=places)


def _beliefs(previous: Previous, beliefs: Iterable[Belief], rulebook: Rulebook) -> list[Changed]:
    moved: list[Changed] = []
    for belief in beliefs:
        before = _believed(previous, belief, rulebook)
        if before is not None and abs(belief.probability - before) >= float(rulebook.defaults["plan"]["moved"]):
            moved.append(_moved(belief, before, rulebook))
    return sorted(moved, key=lambda c: -abs((c.after or 0.0) - (c.before or 0.0)))


def _believed(previous: Previous, belief: Belief, rulebook: Rulebook) -> float | None:
    """What was believed before: posted as trait/wing, or as the trait alone where it has one belief."""
    by_wing = previous.beliefs.get(belief_name(belief.trait, belief.wing))
    if by_wing is None and len(rulebook.traits[belief.trait].wings) == 1:
        return previous.beliefs.get(belief.trait)
    return by_wing


def _moved(belief: Belief, before: float, rulebook: Rulebook) -> Changed:
    rises = belief.probability > before
    speaking = [c for c in belief.contributions if c.observations and (c.log_odds > 0) is rises][:REASONS_NAMED]
    title = rulebook.traits[belief.trait].title + (f" ({belief.wing})" if belief.wing else "")
    unnamed = "older games count for less, or another trait took its place"
    why = f"because of {' and '.join(c.text for c in speaking)}" if speaking else f"as {unnamed}"
    text = f"{title}: {'more' if rises else 'less'} likely, {before:.2f} before and {belief.probability:.2f} now, {why}"
    places = tuple(sorted({place for c in speaking for place in c.observations}))
    return Changed("belief", text, belief.trait, belief.wing, before, belief.probability, places)


def _play(shift: Shift, rulebook: Rulebook) -> Changed:
    change = shift.change
    name = rulebook.kinds[shift.what].says
    part = ", ".join(str(word) for word in (shift.option, shift.wing) if word and word not in name)
    named = f"{name} ({part})" if part else name
    shares = f"about {change.before:.0%} before set {shift.since[0]} game {shift.since[1]} and {change.since:.0%} since"
    text = f"Their play changed: {named}, {shares} (chance of a change {change.chance:.2f})"
    return Changed("play", text, None, shift.wing, change.before, change.since, shift.observations)
