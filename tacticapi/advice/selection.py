"""Select which fired tactics to show, and in which order."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from math import prod
from typing import NamedTuple

from numpy import bool_
from numpy.typing import NDArray

from tacticapi.advice.words import own_words
from tacticapi.domain.advice import HeldBackTactic
from tacticapi.domain.reasoning import Firings, Priced
from tacticapi.domain.rules import Category, Gate, MomentRule, Relation, RelationKind, Rulebook, Tactic, Touches
from tacticapi.domain.situation import HeldBack, Moment, Previous, Show, Situation
from tacticapi.rulebook.danger import Health

Array = NDArray[bool_]
SAFETY_AUTHORITY = 1
GENERAL = 5  # from this order, a line holds for everybody: it is shown at moments that ask for its category
IDLE = {"own": Touches.RETURN, "opponent": Touches.SERVE}
AT_THE_START = (Moment.BEFORE_MATCH, Moment.AFTER_WARM_UP)


def unmet_gate(tactic: Tactic, own: Mapping[str, object], rulebook: Rulebook) -> str | None:
    """Describe the first of our abilities that the tactic needs but that is unrated or rated too low."""
    for gate in tactic.needs:
        if not is_owned(gate, own):
            ratings = {own_words(key, rulebook): own.get(key) for key in gate.keys}
            names = " or ".join(ratings)
            rated = [f"{name} is rated {value}" for name, value in ratings.items() if value is not None]
            yours = " and ".join(rated) if rated else f"your {names} is not rated"
            return f"needs {names} {gate.at_least} or more; {yours}"
    return None


def is_owned(gate: Gate, own: Mapping[str, object]) -> bool:
    """Report whether any stroke that the gate accepts is rated high enough."""
    for key in gate.keys:
        rating = own.get(key)
        if isinstance(rating, int | float) and rating >= gate.at_least:
            return True
    return False


def too_hard_on_a_body(tactic: Tactic, health: Health) -> str | None:
    """Describe why a player's health rules the tactic out, or return None."""
    if tactic.loads and health.sore and (sore := sorted({*tactic.loads} & {*health.sore})):
        sites = " and ".join(health.pain.sites) if health.pain else ""
        return f"your {sites} hurts, and this loads the {' and the '.join(sore)}"
    if tactic.tires and health.breathless:
        return "your opponent is short of breath: do not work them harder"
    return None


def hold_back(
    priced: Iterable[Priced],
    firings: Firings,
    situation: Situation,
    rulebook: Rulebook,
    health: Health,
    *,
    condemned: Mapping[str, str],
) -> tuple[list[Priced], list[HeldBackTactic]]:
    """Set aside tactics that we cannot play, that are counter-indicated, that the moment excludes, or that do not pay.

    `condemned` maps the tactics that clearly did worse when tried to the reasons.

    Leave out tactics that nobody would expect: reminders at the wrong moment, and tactics with little evidence.
    """
    kept: list[Priced] = []
    held = [HeldBackTactic(name, HeldBack.COUNTER_INDICATION, why) for name, why in condemned.items()]
    leaning = 1000 * float(rulebook.defaults["levels"]["leaning"])
    expected = float(rulebook.defaults["prices"]["speaks"]["expected"])
    for item in priced:
        tactic = item.firing.tactic
        if tactic.id in condemned:
            continue
        against = (
            forbidden(tactic, firings, situation, rulebook, health)
            or _misplaced(tactic, situation, rulebook)
            or _unpaid(item, situation, rulebook)
        )
        if against is None:
            kept.append(item)
        elif against.reason is HeldBack.MOMENT and tactic.show is Show.REMINDER:
            continue  # no news
        elif item.read >= expected or any(
            all(int(fact.fields["permille"]) >= leaning for fact in one.beliefs)
            for one in (item.firing, *firings.by_tactic.get(tactic.id, ()))
        ):
            held.append(against)
    return kept, held


def forbidden(
    tactic: Tactic, firings: Firings, situation: Situation, rulebook: Rulebook, health: Health
) -> HeldBackTactic | None:
    """Return the reason that rules the tactic out even if it pays, or None."""
    if why := unmet_gate(tactic, situation.own, rulebook):
        return HeldBackTactic(tactic.id, HeldBack.OWN_ABILITY, why)
    holding = firings.counters.get(tactic.id)
    why = tactic.unless[holding[0]].why if holding else too_hard_on_a_body(tactic, health)
    return HeldBackTactic(tactic.id, HeldBack.COUNTER_INDICATION, why) if why else None


def _misplaced(tactic: Tactic, situation: Situation, rulebook: Rulebook) -> HeldBackTactic | None:
    why = wrong_moment(tactic, rulebook.moments[situation.moment], rulebook.categories[tactic.category])
    if why is None and not_in_the_next_point(tactic, situation):
        why = "it does not apply to the next point"
    return HeldBackTactic(tactic.id, HeldBack.MOMENT, why) if why else None


def not_in_the_next_point(tactic: Tactic, situation: Situation) -> bool:
    """Report whether the tactic cannot be played on the next point because the wrong player is serving."""
    if situation.moment is not Moment.BETWEEN_POINTS:
        return False
    return IDLE.get((situation.score or {}).get("server") or "") in (tactic.touches, tactic.category)


def _unpaid(item: Priced, situation: Situation, rulebook: Rulebook) -> HeldBackTactic | None:
    why = does_not_pay(item, situation, rulebook.defaults["prices"]["speaks"])
    return HeldBackTactic(item.firing.tactic.id, HeldBack.COUNTER_INDICATION, why) if why else None


def does_not_pay(item: Priced, situation: Situation, speaks: Mapping[str, float]) -> str | None:
    """Describe why a priced tactic is held back, or return None if it pays often enough.

    Observations must raise its price: our own strokes alone do not justify attacking a weakness.
    """
    price, moment = item.firing.tactic.price, situation.moment
    if price is None:
        return None
    if not price.spot and item.read < 0.0:
        return "the observations speak against it"
    if not price.spot and item.firing.beliefs and item.reads < float(speaks["read"]):
        return f"the observations support it against {int(10 * item.reads)} in 10 such players, which is too few"
    at_the_next_point = moment is Moment.BETWEEN_POINTS  # then it does not matter how rarely it can be tried
    if item.point < float(speaks["gain"]) and not at_the_next_point:
        return "gains too little to be worth showing"
    first_games = situation.score is not None and games_played(situation) <= int(speaks["first_games"])
    needed = float(speaks["early" if moment in AT_THE_START or first_games else "later"])
    if item.pays_in < needed:
        return f"would pay against {int(10 * item.pays_in)} in 10 such players; {10 * needed:.0f} are needed"
    return None


def games_played(situation: Situation) -> int:
    """Return how many games were played; 0 without a score."""
    score = situation.score or {}
    return sum(map(sum, score.get("sets") or ())) + sum(score.get("games") or ())


def wrong_moment(tactic: Tactic, rule: MomentRule, category: Category) -> str | None:
    """Describe why the tactic may not be shown at this moment, or return None if it may."""
    if tactic.moments and rule.moment not in tactic.moments:
        return f"belongs to another moment ({', '.join(tactic.moments)})"
    if tactic.show is Show.FIRST or tactic.category in rule.reminders:
        return None
    if rule.only_categories:
        return f'"{category.title}" suggestions are not shown at this moment'
    if tactic.order < GENERAL or tactic.show is Show.DUE:
        return None
    return f'"{category.title}" reminders are not shown at this moment'


def settle_conflicts(
    kept: list[Priced], values: Mapping[str, float], worked: Collection[str] = ()
) -> tuple[list[Priced], list[HeldBackTactic]]:
    """Set aside the loser of each conflicting pair of tactics.

    Overrides and yields are settled first; then conflicts, by the firmer belief if the relation says so, else by
    authority, then by `values`, then by id. A tactic that `worked` when tried is not replaced by another way of
    playing. A tactic that has been set aside cannot set others aside.
    """
    ordered = sorted(kept, key=lambda p: (p.firing.tactic.authority, -values[p.firing.tactic.id], p.firing.tactic.id))
    places = {item.firing.tactic.id: (place, item) for place, item in enumerate(ordered)}
    held: dict[str, HeldBackTactic] = {}
    for kinds in ((RelationKind.OVERRIDES, RelationKind.YIELDS_TO), (RelationKind.CONFLICTS,)):
        for item in ordered:
            for relation in item.firing.tactic.relations:
                if relation.kind in kinds and relation.to in places:
                    winner, loser = _settled(item.firing.tactic.id, relation, places)
                    if loser in worked and winner not in worked and places[winner][1].place is not None:
                        winner, loser = loser, winner
                    if winner not in held and loser not in held:
                        held[loser] = HeldBackTactic(
                            loser, HeldBack.CONFLICT, relation.settled or f"gives way to {winner}"
                        )
    return [p for p in kept if p.firing.tactic.id not in held], [held[key] for key in sorted(held)]


def _settled(tactic: str, relation: Relation, places: Mapping[str, tuple[int, Priced]]) -> tuple[str, str]:
    """Return the (winner, loser) of each relation between two tactics that fired."""
    match relation.kind:
        case RelationKind.OVERRIDES:
            return tactic, relation.to
        case RelationKind.YIELDS_TO:
            return relation.to, tactic
        case _:
            (here, item), (there, other) = places[tactic], places[relation.to]
            firmer = _firmness(other) - _firmness(item) if relation.by == "belief" else 0.0
            return (relation.to, tactic) if firmer > 0 or (firmer == 0 and there < here) else (tactic, relation.to)


def _firmness(item: Priced) -> float:
    return prod(int(fact.fields["permille"]) / 1000.0 for fact in item.firing.beliefs)


class Value(NamedTuple):
    """A tactic's value for ranking: expected match gain, and expected gain per point."""

    match: float
    point: float

    @property
    def key(self) -> tuple[float, float]:
        """Return the sorting key, best first, rounded so that numerical noise never decides the order."""
        return (-round(self.match, 6), -round(self.point, 6))


def weighed(priced: Sequence[Priced], values: Mapping[str, Value], alike: Array, half: float) -> dict[str, Value]:
    """Among tactics that exploit the same quality (`alike`), count the best in full and the others times `half`."""
    names = [item.firing.tactic.id for item in priced]
    order = sorted(range(len(names)), key=lambda n: (*values[names[n]].key, n))
    shared, result = alike.tolist(), {}
    for place, n in enumerate(order):
        weight = half if any(map(shared[n].__getitem__, order[:place])) else 1.0
        result[names[n]] = Value(values[names[n]].match * weight, values[names[n]].point * weight)
    return result


def ranked(
    priced: Sequence[Priced], values: Mapping[str, Value], some: float, worked: Sequence[str] = ()
) -> list[Priced]:
    """Order by show: first (by authority), due, gains by value, reminders by their order; then id.

    A line of order 1 comes before gains, and a line of order 2 before gains smaller than `some` (in points). Tactics
    that `worked` come before all gains, best first.
    """

    def place(item: Priced) -> float:
        tactic = item.firing.tactic
        if tactic.id in worked:
            return 2.5 + worked.index(tactic.id) / 100.0
        match tactic.show:
            case Show.FIRST:
                return 0
            case Show.DUE:
                return 1
            case Show.GAIN:
                return 3 if values[tactic.id].point >= some else 5
            case _:
                return {1: 2, 2: 4}.get(tactic.order, 6)

    def key(item: Priced) -> tuple[float, int, int, float, float, str]:
        tactic = item.firing.tactic
        authority = tactic.authority if tactic.show is Show.FIRST else 0
        return (place(item), authority, tactic.order, *values[tactic.id].key, tactic.id)

    return sorted(priced, key=key)


def steady(
    ordered: Sequence[Priced], values: Mapping[str, Value], previous: Previous | None, margin: float
) -> list[Priced]:
    """Keep last time's first tactic first, unless another tactic's match gain exceeds its gain by the margin."""
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


def around_plan(
    ordered: Sequence[Priced], plan: Priced, values: Mapping[str, Value], margin: float, reminders: int
) -> list[Priced]:
    """Put a kept plan before everything except care and lines due now, and leave out most new ideas.

    A new idea must beat the plan's match gain by the margin; a variation of the plan need not. `reminders` is how many
    lines without a price may accompany the plan.
    """
    name, least = plan.firing.tactic.id, values[plan.firing.tactic.id].match + margin
    others = [item for item in ordered if item.firing.tactic.id != name]
    before: list[Priced] = []
    after: list[Priced] = []
    for item in others:
        tactic = item.firing.tactic
        if tactic.show in (Show.FIRST, Show.DUE):
            before.append(item)
        elif item.place is None:
            reminders -= 1
            after += [item] if reminders >= 0 else []
        elif values[tactic.id].match >= least or (RelationKind.SUPPORTS, name) in (
            (relation.kind, relation.to) for relation in tactic.relations
        ):
            after.append(item)
    return [*before, plan, *after]


def limited(
    items: list[Priced], limit: int, categories: Mapping[str, Category], tactical_limit: int | None
) -> list[Priced]:
    """Cut the list to `limit` lines, with at most `tactical_limit` tactical ones (None: no such limit)."""
    shown: list[Priced] = []
    tactical = 0
    for item in items:
        if len(shown) == limit:
            break
        if is_tactical(item.firing.tactic, categories):
            if tactical_limit is not None and tactical >= tactical_limit:
                continue
            tactical += 1
        shown.append(item)
    return shown


def is_safety(tactic: Tactic) -> bool:
    """Report whether a tactic has safety authority."""
    return tactic.authority == SAFETY_AUTHORITY


def is_tactical(tactic: Tactic, categories: Mapping[str, Category]) -> bool:
    """Report whether a tactic is about playing, not the body, the law or safety; priced tactics always are."""
    return categories[tactic.category].tactical or tactic.price is not None
