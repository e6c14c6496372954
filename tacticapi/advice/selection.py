"""Which of the fired tactics are left: gates and counter-indications first, then moments, then conflicts."""

from collections.abc import Iterable, Mapping

from tacticapi.advice.wording import own_words
from tacticapi.domain.advice import Held
from tacticapi.domain.firing import Firings, Priced
from tacticapi.domain.rulebook import Category, MomentRule, Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Gate, Relation, RelationKind, Tactic
from tacticapi.domain.terms import HeldBack, Show
from tacticapi.inference.danger import Health

NUMBERS = (int, float)


def unmet_gate(tactic: Tactic, own: Mapping[str, object], rulebook: Rulebook) -> str | None:
    """Return in words the first own ability that the tactic needs and that is too low or not rated."""
    gate = unmet(tactic, own)
    return _gate_words(gate, {own_words(key, rulebook): own.get(key) for key in gate.keys}) if gate else None


def unmet(tactic: Tactic, own: Mapping[str, object]) -> Gate | None:
    """The first gate of the tactic of which no stroke is rated high enough."""
    return next((gate for gate in tactic.needs if not is_owned(gate, own)), None)


def is_owned(gate: Gate, own: Mapping[str, object]) -> bool:
    """Whether a stroke of the gate is rated high enough."""
    ratings = (own.get(key) for key in gate.keys)
    return any(isinstance(rating, NUMBERS) and rating >= gate.at_least for rating in ratings)


def _gate_words(gate: Gate, ratings: Mapping[str, object]) -> str:
    names = " or ".join(ratings)
    rated = [f"{name} is rated {value}" for name, value in ratings.items() if value is not None]
    yours = " and ".join(rated) if rated else f"your {names} is not rated"
    return f"needs {names} {gate.at_least} or more; {yours}"


def counter_indication(tactic: Tactic, firings: Firings) -> str | None:
    """Return in words the first counter-indication of the tactic that holds."""
    holding = firings.counters.get(tactic.id, ())
    return tactic.unless[holding[0]].why if holding else None


def too_hard_on_a_body(tactic: Tactic, health: Health) -> str | None:
    """Return in words why either player's health speaks against a tactic, None if it does not."""
    if sore := sorted({*tactic.loads} & {*health.sore}):
        sites = " and ".join(health.pain.sites) if health.pain else ""
        return f"your {sites} hurts, and this loads the {' and the '.join(sore)}"
    if tactic.tires and health.breathless:
        return "your opponent is short of breath: nobody works them harder"
    return None


def hold_back(
    priced: Iterable[Priced], firings: Firings, situation: Situation, rulebook: Rulebook, health: Health
) -> tuple[list[Priced], list[Held]]:
    """Set aside what cannot be hit, what is counter-indicated, what does not pay and what the moment excludes.

    Nothing is told of a tactic that nobody would expect: a reminder out of its moment, or one on an open belief.
    """
    kept: list[Priced] = []
    held: list[Held] = []
    leaning = 1000 * float(rulebook.defaults["levels"]["leaning"])
    for item in priced:
        against = _against(item, firings, situation, rulebook, health)
        if against is None:
            kept.append(item)
        elif all(int(fact.fields["permille"]) >= leaning for fact in item.firing.beliefs):
            no_news = against.reason is HeldBack.MOMENT and item.firing.tactic.show is Show.REMINDER
            held += [] if no_news else [against]
    return kept, held


def _against(item: Priced, firings: Firings, situation: Situation, rulebook: Rulebook, health: Health) -> Held | None:
    """What speaks against showing this, None if nothing does."""
    tactic, defaults = item.firing.tactic, rulebook.defaults
    rule, category = rulebook.moments[situation.moment], rulebook.categories[tactic.category]
    if why := unmet_gate(tactic, situation.own, rulebook):
        return Held(tactic.id, HeldBack.OWN_ABILITY, why)
    if why := counter_indication(tactic, firings):
        return Held(tactic.id, HeldBack.COUNTER_INDICATION, why)
    if why := too_hard_on_a_body(tactic, health):
        return Held(tactic.id, HeldBack.COUNTER_INDICATION, why)
    if why := wrong_moment(tactic, rule, category):
        return Held(tactic.id, HeldBack.MOMENT, why)
    tried = next((tries.tried for tries in situation.tries if tries.tactic == tactic.id), 0)
    if tactic.show is Show.GAIN and _does_not_pay(item, tried, int(defaults["plan"]["tries"]), defaults["least_gain"]):
        return Held(tactic.id, HeldBack.COUNTER_INDICATION, _no_gain_words(item))
    return None


def wrong_moment(tactic: Tactic, rule: MomentRule, category: Category) -> str | None:
    """Return in words why the tactic may not be shown at the moment, None when it may."""
    if tactic.moments and rule.moment not in tactic.moments:
        return f"belongs to another moment ({', '.join(tactic.moments)})"
    if tactic.show is Show.FIRST or tactic.category in rule.reminders:
        return None
    if rule.only_categories:
        return f"no suggestion on {category.title.lower()} is shown at this moment"
    if tactic.show is Show.GAIN:
        return None
    return f"no reminder on {category.title.lower()} is shown at this moment"


def _does_not_pay(item: Priced, tried: int, enough: int, least: float) -> bool:
    """Whether no gain is expected: by the evidence, or by tries once there are enough of them to tell.

    A tactic with a gain from simulation has to be worth at least `least` a point.
    """
    if item.expected <= 0 or (item.simulated and item.point < least):
        return True
    return item.point <= 0 and tried >= enough


def _no_gain_words(item: Priced) -> str:
    share = round(100 * item.chance)
    return f"it fits with a chance of {share} %; with that and what was tried, it is not expected to pay"


def settle_conflicts(kept: list[Priced], values: Mapping[str, float]) -> tuple[list[Priced], list[Held]]:
    """Set aside the loser of each pair that names each other.

    Explicit overrides and yields first; then conflicts, by the firmer belief where the relation says so, else by
    authority, then by `values`, then by id.
    A tactic that was set aside itself sets nothing aside.
    """
    ordered = sorted(kept, key=lambda p: (p.firing.tactic.authority, -values[p.firing.tactic.id], p.firing.tactic.id))
    places = {item.firing.tactic.id: (place, item) for place, item in enumerate(ordered)}
    held: dict[str, Held] = {}
    for kinds in ((RelationKind.OVERRIDES, RelationKind.YIELDS_TO), (RelationKind.CONFLICTS,)):
        for item in ordered:
            for relation in item.firing.tactic.relations:
                if relation.kind in kinds and relation.to in places:
                    winner, loser = _settled(item.firing.tactic.id, relation, places)
                    if winner not in held and loser not in held:
                        held[loser] = Held(loser, HeldBack.CONFLICT, relation.settled or f"gives way to {winner}")
    return [p for p in kept if p.firing.tactic.id not in held], [held[key] for key in sorted(held)]


def _settled(tactic: str, relation: Relation, places: Mapping[str, tuple[int, Priced]]) -> tuple[str, str]:
    """(winner, loser) of a relation between two tactics that fired."""
    match relation.kind:
        case RelationKind.OVERRIDES:
            return tactic, relation.to
        case RelationKind.YIELDS_TO:
            return relation.to, tactic
        case _:
            (here, item), (there, other) = places[tactic], places[relation.to]
            firmer = other.chance - item.chance if relation.by == "belief" else 0.0
            return (relation.to, tactic) if firmer > 0 or (firmer == 0 and there < here) else (tactic, relation.to)
