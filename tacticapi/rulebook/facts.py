"""Build small flat facts for the matcher: permille, ratings and amounts times 100, and words from closed lists.

No free text from a client becomes a fact.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import fsum, inf
from typing import Any

from tacticapi.domain.reasoning import Belief, Fact
from tacticapi.domain.rules import Condition, FactKind, Op, Rulebook, TraitKey
from tacticapi.domain.situation import Observation, Situation, Way, summed
from tacticapi.rulebook.circumstances import COMPUTED, READS, View, holding
from tacticapi.rulebook.conditions import PLAIN_COUNT, QUALIFIERS, part_name
from tacticapi.rulebook.danger import sign_circumstance

PAIR = 2
DANGER = "warning-sign"
COUNTED = frozenset({Way.COUNT, Way.COUNTS})
PARTS = {names: part_name(names) for size in range(len(QUALIFIERS) + 1) for names in combinations(QUALIFIERS, size)}
"""Names for the combinations of qualifiers by which observations are pooled; the empty one is the whole."""


class FactBuilder:
    """Builds only those facts that some condition in the rulebook can test."""

    def __init__(self, rulebook: Rulebook) -> None:
        self._rulebook = rulebook
        self._asked: dict[FactKind, set[str]] = {kind: set() for kind in FactKind}
        asked: dict[str, set[str]] = {}
        self._least: dict[str, int] = {}
        for condition in all_conditions(rulebook):
            self._asked[condition.kind].add(condition.name)
            if condition.kind is FactKind.BELIEF:
                least = max(
                    [t.value for t in condition.tests if t.op is Op.AT_LEAST and isinstance(t.value, int)] or [0]
                )
                self._least[condition.name] = min(least, self._least.get(condition.name, least))
            if condition.kind is FactKind.OBSERVED:
                named = {str(test.value) for test in condition.tests if test.field == "part"} or {*PARTS.values()}
                asked.setdefault(condition.name, set()).update(named)
        self._parts = {what: [one for one in PARTS.items() if one[1] in named] for what, named in asked.items()}
        signs = {sign_circumstance(sign.id) for sign in rulebook.danger.signs}
        unseen = sorted(self._asked[FactKind.UNSEEN])
        self._unseen_facts = [Fact(f"unseen:{what}", FactKind.UNSEEN, what) for what in unseen]
        keys = [(trait, wing) for trait in rulebook.traits.values() for wing in trait.wings]
        self._belief_facts: dict[TraitKey, tuple[str, dict[str, str]]] = {
            (trait.id, wing): (f"belief:{trait.id}:{wing or ''}", {"wing": wing.value} if wing else {})
            for trait, wing in keys
            if trait.id in self._asked[FactKind.BELIEF]
        }
        self._computed = frozenset((COMPUTED.keys() | signs) & self._asked[FactKind.CIRCUMSTANCE])

    def build(
        self, view: View, beliefs: Iterable[Belief], observations: Iterable[Observation], *, whole: bool = True
    ) -> tuple[Fact, ...]:
        """Return the facts for one situation; `observations` are the current ones.

        If not `whole`, leave out beliefs that are too unlikely for any condition.
        """
        posted = {seen.what for seen in view.situation.observations}
        return (
            *self._beliefs(beliefs, whole=whole),
            *self._profiles(view.situation),
            *self._observed(observations),
            *(fact for fact in self._unseen_facts if fact.name not in posted),
            *self._score(view),
            *self._tries(view.situation),
            *self._circumstances(view),
        )

    def _beliefs(self, beliefs: Iterable[Belief], *, whole: bool) -> Iterator[Fact]:
        for belief in beliefs:
            permille = round(1000 * belief.probability)
            if belief.trait not in self._least or (not whole and permille < self._least[belief.trait]):
                continue
            fact, wing = self._belief_facts[belief.trait, belief.wing]
            fields: dict[str, int | str] = {"permille": permille, **wing}
            places: list[int] = []
            if belief.contributions:
                places = sorted({place for one in belief.contributions for place in one.observations})
                if belief.probability > belief.prior:  # not if the probability fell
                    fields["seen"] = "yes"
            yield Fact(fact, FactKind.BELIEF, belief.trait, fields, tuple(places))

    def _profiles(self, situation: Situation) -> Iterator[Fact]:
        for kind in (FactKind.OWN, FactKind.OPPONENT, FactKind.CONTEXT):
            items: Mapping[str, Any] = getattr(situation, kind)
            for name in sorted(self._asked[kind] & items.keys()):
                value = items[name]
                if isinstance(value, bool):
                    fields: dict[str, int | str] = {"value": "yes" if value else "no"}
                elif isinstance(value, int | float):
                    fields = {"number": round(value)}
                elif (spec := self._rulebook.kinds.get(f"{kind}.{name}")) and value in spec.options:
                    fields = {"value": value}
                else:
                    continue
                yield Fact(f"{kind}:{name}", kind, name, fields)

    def _observed(self, observations: Iterable[Observation]) -> Iterator[Fact]:
        asked = self._asked[FactKind.OBSERVED]
        groups: dict[str, list[Observation]] = {}
        for seen in observations:
            if seen.what in asked:
                groups.setdefault(seen.what, []).append(seen)
        for what, group in groups.items():
            for label, where, part in _split(group, self._parts[what]):
                for tail, fields in self._said(what, part):
                    places = tuple(seen.index for seen in part)
                    yield Fact(f"observed:{what}{label}{tail}", FactKind.OBSERVED, what, {**fields, **where}, places)

    def _said(self, what: str, part: Sequence[Observation]) -> Iterator[tuple[str, dict[str, int | str]]]:
        """Yield the fields of each fact about the pooled observations, with a suffix that makes its id unique."""
        ways = {seen.way for seen in part}
        if ways & COUNTED:
            yield from _plain_count(part)
            yield from _option_shares(part, self._rulebook.kinds[what].options)
        if ratings := [s.rating for s in part if s.rating is not None]:
            yield ":rating", {"rating": round(100 * fsum(ratings) / len(ratings))}
        if amounts := [s.amount for s in part if s.amount is not None]:
            total = self._rulebook.kinds[what].unit == "times"
            yield ":amount", {"amount": round(100 * fsum(amounts) / (1 if total else len(amounts)))}
        if Way.TEXT in ways or any(s.seen for s in part):  # a note about a sign means that the sign was seen
            yield ":seen", {"seen": "yes"}
        if worded := [s for s in part if s.way is Way.VALUE]:
            newest = max(map(_dated, worded))
            for value in sorted({s.value for s in worded if _dated(s) == newest and s.value}):
                yield f":{value}", {"value": value}

    def _circumstances(self, view: View) -> Iterator[Fact]:
        for name in holding(view, self._computed):
            if name == DANGER or name not in COMPUTED:
                places = tuple(sorted(view.health.read))
            else:
                what = READS.get(name)
                places = tuple([o.index for o in view.situation.observations if o.what == what]) if what else ()
            yield Fact(f"circumstance:{name}", FactKind.CIRCUMSTANCE, name, {}, places)

    def _score(self, view: View) -> Iterator[Fact]:
        for name, value in _score_values(view).items():
            if name in self._asked[FactKind.SCORE] and value is not None:
                field = "value" if isinstance(value, str) else "number"
                yield Fact(f"score:{name}", FactKind.SCORE, name, {field: value})

    def _tries(self, situation: Situation) -> Iterator[Fact]:
        for tries in summed(situation.tries).values():
            if tries.tactic in self._asked[FactKind.TRIES] and tries.tried:
                share = round(1000 * tries.won / tries.tried)
                fields = {"tried": tries.tried, "won": tries.won, "permille": share}
                yield Fact(f"tries:{tries.tactic}", FactKind.TRIES, tries.tactic, fields)


def all_conditions(rulebook: Rulebook) -> Iterator[Condition]:
    """Yield every condition in every tactic and circumstance."""
    for tactic in rulebook.tactics.values():
        yield from tactic.conditions
    for circumstance in rulebook.circumstances.values():
        for conditions in circumstance.when:
            yield from conditions


def _dated(seen: Observation) -> tuple[float, float]:
    return (seen.set or 1, seen.game) if seen.game is not None else (inf, inf)


def _split(
    group: Sequence[Observation], asked: Iterable[tuple[tuple[str, ...], str]]
) -> Iterator[tuple[str, dict[str, str], Sequence[Observation]]]:
    """Split the group by each requested combination of wing, court and serve; the empty one yields the whole group."""
    for names, part_of in asked:
        parts: dict[tuple[str, ...], list[Observation]] = {}
        for seen in group:
            values = tuple([str(getattr(seen, name) or "") for name in names])
            if all(values):
                parts.setdefault(values, []).append(seen)
        for values, part in parts.items():
            where = dict(zip(names, values, strict=True))
            yield "".join([f":{value}" for value in values]), {**where, "part": part_of}, part


def _plain_count(part: Sequence[Observation]) -> Iterator[tuple[str, dict[str, int | str]]]:
    """Yield the share over all plain counts, with all chances seen; with splits alone, yield only the chances."""
    plain = fsum(s.of or 0.0 for s in part if s.way is Way.COUNT)
    chances = plain + fsum(n for s in part for n in (s.counts or {}).values())
    if not chances:
        return
    fields: dict[str, int | str] = {"chances": round(chances), "option": PLAIN_COUNT}
    if plain:
        fields["permille"] = round(1000 * fsum(s.count or 0.0 for s in part if s.way is Way.COUNT) / plain)
    yield ":count", fields


def _option_shares(part: Sequence[Observation], options: tuple[str, ...]) -> Iterator[tuple[str, dict[str, int | str]]]:
    """Yield each option's share; if a kind has two options, a plain count counts the first."""
    spreads: list[Mapping[str, float]] = []
    for seen in part:
        if seen.counts is not None:
            spreads.append(seen.counts)
        elif seen.way is Way.COUNT and len(options) == PAIR:
            hits = seen.count or 0.0
            spreads.append({options[0]: hits, options[1]: (seen.of or 0.0) - hits})
    total = fsum(n for spread in spreads for n in spread.values())
    if not total:
        return
    for option in dict.fromkeys(o for spread in spreads for o in spread):
        hits = fsum(spread.get(option, 0.0) for spread in spreads)
        yield f":{option}", {"permille": round(1000 * hits / total), "chances": round(total), "option": option}


def _score_values(view: View) -> dict[str, int | str | None]:
    state, point = view.state, view.point
    if state is None or point is None:
        return {}
    now = view.standing
    return {
        "games_completed": now.games_completed,
        "set_games": sum(state.games),
        "games_ahead": now.games_ahead,
        "sets_ahead": now.sets_ahead,
        "breaks_ahead": now.breaks_ahead,
        "set_number": now.set_number,
        "serving": state.server,
        "court": "either" if len(point.courts) > 1 else next(iter(point.courts), None),
        "tie_break": "yes" if now.in_tie_break else None,
        "serve": (view.situation.score or {}).get("serve"),
        "importance": None if view.importance is None else round(1000 * view.importance),
    }
