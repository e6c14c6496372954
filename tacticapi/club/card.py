"""Choose what a plan card shows: the advice on a match in a few lines on paper."""

from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, field, replace

from tacticapi.advice.safety import is_junior, withheld
from tacticapi.advice.selection import is_tactical
from tacticapi.advice.suggestions import unnamed
from tacticapi.club.health import health_of
from tacticapi.club.services import NotPermitted, Services
from tacticapi.club.situations import alone_in_words, at_moment, withheld_at
from tacticapi.domain.advice import Advice, Safety
from tacticapi.domain.court import Hands, Place
from tacticapi.domain.situation import Moment, Situation

SERVE = frozenset({"serve", "left-hander"})
RETURN = frozenset({"return", "left-hander"})
RALLY = frozenset(
    {"rally", "change-of-direction", "approach-and-net", "passing-lob-and-smash", "defence", "positioning"}
)
PRESSURE = frozenset({"score-and-pressure", "tempo"})
LEFT_HANDERS = "left-hander"
RALLY_LINES = 2
# general lines fill the parts for which this match gives no evidence: model default
GENERAL = (
    "keep-serve-mix-unguessable",
    "cross-court-return-default",
    "cross-court-home",
    "depth-before-angle",
    "same-plan-on-big-points",
)


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line in the plan, when to review it, and data on where it belongs. A `general` line suits everybody.

    `targets` maps each court to a serve spot.
    """

    tactic: str
    say: str
    look_again: str
    category: str = ""
    caution: str | None = None
    targets: Mapping[str, str] = field(default_factory=dict)
    general: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """One card; a part is None or empty if nothing is known about it, or if safety replaces the plan.

    `targets` maps each court to a serve spot; `stance` is where to stand for the return tactic.
    """

    own: str | None
    opponent: str | None
    moment: Moment
    rulebook: str
    hands: Hands
    safety: tuple[Safety, ...] = ()
    serve: CardLine | None = None
    targets: Mapping[str, str] = field(default_factory=dict)
    receive: CardLine | None = None
    stance: Place | None = None
    rally: tuple[CardLine, ...] = ()
    pressure: CardLine | None = None

    @property
    def alone(self) -> bool:
        """Return whether safety replaces the plan."""
        return any(line.alone for line in self.safety)

    @property
    def lines(self) -> tuple[CardLine, ...]:
        """Return every line of the plan."""
        return tuple(line for line in (self.serve, self.receive, *self.rally, self.pressure) if line)

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return the plan's cautions, each once."""
        return tuple(dict.fromkeys(line.caution for line in self.lines if line.caution))


def plan_card(services: Services, club_id: str, match_id: str, moment: Moment) -> Card:
    """Return the card for a match at a moment. It is not stored.

    Health items affect safety only. Raises NotFound; Refused if the match is not at this moment; NotPermitted if the
    event does not permit advice then.
    """
    kept, known = at_moment(services, club_id, match_id, moment)
    whole = replace(known, limit=len(services.rulebook.tactics), minutes_left=None)
    instead = withheld_at(services, whole) if kept.match.status == "open" else None
    if instead and (withheld(whole) or not instead.safety):
        raise NotPermitted(alone_in_words(instead))
    advice = instead or services.adviser.recommend(whole)
    bare = Card(
        own=kept.own.label if kept.own else None,
        opponent=kept.opponent.label if kept.opponent else None,
        moment=moment,
        rulebook=advice.version,
        hands=Hands(*(facts.get("handedness") for facts in (known.own, known.opponent))),
        safety=advice.safety,
    )
    shown = (services.rulebook.tactics[one.tactic] for one in advice.suggestions)
    if instead or bare.alone or not any(is_tactical(tactic, services.rulebook.categories) for tactic in shown):
        return bare
    return _filled(bare, _spoken(services, whole, advice), places=services.rulebook.places)


def _spoken(services: Services, known: Situation, advice: Advice) -> list[CardLine]:
    """Return the possible lines, best first: suggestions that use no health item and, for adults, general lines."""
    clean = health_of(services.rulebook).situation(known)
    shown = {one.tactic for one in advice.suggestions}
    sound = advice if clean == known else services.adviser.recommend(clean)
    spoken = [
        CardLine(
            one.tactic, one.say, one.stop_when, one.category, one.caution, {at.court: at.spot for at in one.targets}
        )
        for one in sound.suggestions
        if one.tactic in shown
    ]
    if is_junior(known):
        return spoken
    away = shown | {held.tactic for held in advice.held_back}
    general = (services.rulebook.tactics.get(name) for name in GENERAL if name not in away)
    return spoken + [
        CardLine(one.id, unnamed(one.say), one.stop_when, one.category, one.caution, general=True)
        for one in general
        if one
    ]


def _filled(card: Card, spoken: list[CardLine], places: Mapping[str, Place]) -> Card:
    """Fill each part of the card with the first matching line; serve and return prefer lines with a place on court."""
    left = list(spoken)

    def taken(categories: Set[str], placed: Callable[[CardLine], object] | None = None) -> CardLine | None:
        fitting = [one for one in left if one.category in categories]
        sited = [one for one in fitting if placed and placed(one)]
        found = next(iter(sited or [one for one in fitting if one.category != LEFT_HANDERS]), None)
        if found:
            left.remove(found)
        return found

    serve = taken(SERVE, lambda one: _targets(one, places))
    receive = taken(RETURN, lambda one: _stance(one, places))
    return replace(
        card,
        serve=serve,
        targets=_targets(serve, places) if serve else {},
        receive=receive,
        stance=_stance(receive, places) if receive else None,
        rally=tuple(one for one in (taken(RALLY) for _ in range(RALLY_LINES)) if one),
        pressure=taken(PRESSURE),
    )


def _targets(one: CardLine, places: Mapping[str, Place]) -> Mapping[str, str]:
    place = places.get(one.tactic)
    return one.targets or (place.serves if place else {})


def _stance(one: CardLine, places: Mapping[str, Place]) -> Place | None:
    place = places.get(one.tactic)
    return place if place and place.you else None
