"""Find the next things to look for: those that could gain the plan most, then what a beginner would look at first.

Looks are judged by the ways of playing that would speak if only their traits held. What has begun to show is confirmed
before anything new is looked for.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, islice, product
from typing import Any, Final

import numpy as np

from tacticapi.advice.selection import is_owned
from tacticapi.domain.advice import Look
from tacticapi.domain.reasoning import Fact, Firings, Inference, Play
from tacticapi.domain.rules import Condition, FactKind, ObservationKind, Op, Rulebook, Tactic, Trait, TraitKey
from tacticapi.domain.situation import Moment, Observation, Phase, Situation, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.entries import COUNTED
from tacticapi.evidence.gaussian import Array
from tacticapi.evidence.next_observation import Look as Seen
from tacticapi.evidence.next_observation import NextObservations
from tacticapi.evidence.profile import OPPONENT
from tacticapi.pricing.baseline import Baseline, posteriors
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.pricing.price import PlayPrices
from tacticapi.pricing.stakes import PlayTable, Stakes
from tacticapi.rulebook.match_rules import wing_anchor, without_beliefs

PROFILES = 256  # own strokes stay the same all match; results are cached for this many players
STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.GAMES,),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (),
}
WORTH_DIGITS = 4
MIN_WORTH = 0.5 * 10**-WORTH_DIGITS  # less is told as nothing
NO_STARTER = 10_000  # kinds outside the starter set come after it
HAND: Final = "opponent.handedness"  # wings mean nothing to an onlooker before it is known
WIND: Final = "context.wind"
IN_WIND: Final = "rally.adds_margin_in_wind"
THEIR_SERVE, OUR_SERVE = "serve", "return"  # subjects that show in their service games, and in ours
Phases = tuple[Phase, ...]


@dataclass(frozen=True, slots=True)
class _Alternative:
    """The places of one alternative's plays, by the wing that the matched facts set (None: they set none).

    `wing_from` is the place of the condition that sets it among those that are not beliefs.
    """

    plays: Mapping[Wing | None, tuple[int, ...]]
    wing_from: int | None

    def given(self, facts: Mapping[str, Fact], matched: tuple[str, ...]) -> tuple[int, ...]:
        if self.wing_from is None:
            return self.plays[None]
        wing = facts[matched[self.wing_from]].fields.get("wing")
        return self.plays[Wing(str(wing)) if wing else None]


class Plays:
    """The plays of one rulebook, by the rule that says that all but the beliefs hold."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Read every alternative that rests on a trait."""
        self.all: list[Play] = []
        self._waiting: dict[str, _Alternative] = {}
        self._always: set[int] = set()
        for tactic in rulebook.tactics.values():
            for number, alternative in enumerate(tactic.when):
                if any(condition.kind is FactKind.BELIEF for condition in alternative.conditions):
                    self._read(tactic, number, rulebook.traits)
        self._by_tactic = _places((play.tactic.id, place) for place, play in enumerate(self.all))
        gates = _places((gate, place) for place, play in enumerate(self.all) for gate in play.tactic.needs)
        self._gates = tuple(gates.items())
        self._strokes = tuple(dict.fromkeys(key for gate in gates for key in gate.keys))
        self._not_owned = lru_cache(maxsize=PROFILES)(self._closed_by)

    def open(self, inference: Inference, firings: Firings, own: Mapping[str, Any]) -> list[int]:
        """Places of the plays whose other conditions hold, whose strokes are owned and that nothing speaks against."""
        found = set(self._always)
        for match in [match for match in inference.matches if match.rule in self._waiting]:
            found.update(self._waiting[match.rule].given(inference.facts, match.facts))
        found -= self._not_owned(tuple(map(own.get, self._strokes)))
        for counter in firings.counters:
            found -= self._by_tactic.get(counter, frozenset())
        return list(found)

    def _closed_by(self, ratings: tuple[Any, ...]) -> frozenset[int]:
        """Places of the plays for which one of the own strokes is not rated, or too low."""
        own = dict(zip(self._strokes, ratings, strict=True))
        return frozenset(place for gate, places in self._gates if not is_owned(gate, own) for place in places)

    def _read(self, tactic: Tactic, number: int, traits: Mapping[str, Trait]) -> None:
        conditions = tactic.when[number].conditions
        tied = {place for place, condition in enumerate(conditions) if condition.same_wing}
        anchor = wing_anchor(conditions) if tied else None
        if anchor is not None:
            tied.add(anchor)
        told = next((place for place in sorted(tied) if conditions[place].kind is not FactKind.BELIEF), None)
        plays: dict[Wing | None, tuple[int, ...]] = {None: ()}
        for shared in tuple(Wing) if tied else (None,):
            keys = _keys(conditions, tied, shared, traits)
            plays[shared] = tuple(range(len(self.all), len(self.all) + len(keys)))
            self.all += [Play(tactic, number, rests_on) for rests_on in keys]
        if told is not None:
            alternative = _Alternative(plays, len(without_beliefs(conditions[:told])))
        else:
            alternative = _Alternative({None: tuple(place for places in plays.values() for place in places)}, None)
        if without_beliefs(conditions):
            self._waiting[f"candidate/{tactic.id}/{number}"] = alternative
        else:
            self._always.update(alternative.given({}, ()))


def _places(named: Iterable[tuple[Any, int]]) -> dict[Any, frozenset[int]]:
    found: dict[Any, set[int]] = {}
    for name, place in named:
        found.setdefault(name, set()).add(place)
    return {name: frozenset(places) for name, places in found.items()}


def _keys(
    conditions: tuple[Condition, ...], tied: set[int], shared: Wing | None, traits: Mapping[str, Trait]
) -> list[tuple[TraitKey, ...]]:
    """Every choice of one belief a belief condition; tied ones are on the shared wing."""
    choices = []
    for place, condition in enumerate(conditions):
        if condition.kind is FactKind.BELIEF:
            wings = traits[condition.name].wings
            wanted = [test.value for test in condition.tests if test.field == "wing" and test.op is Op.IS]
            fitting = [w for w in wings if all(w == value for value in wanted)]
            choices.append([(condition.name, w) for w in fitting if place not in tied or w == shared])
    return list(product(*choices))


class LookFinder:
    """Finds the looks of one rulebook. What a first look at each kind can show is worked out once."""

    def __init__(self, rulebook: Rulebook, evidence: EvidenceModel) -> None:
        """Lay out the ways of playing that rest on a trait, and the looks of every phase at those traits."""
        self._rulebook = rulebook
        self._plays = Plays(rulebook)
        keys = [(trait.id, wing) for trait in rulebook.traits.values() for wing in trait.wings]  # as beliefs come
        self._places = {key: place for place, key in enumerate(keys)}
        self._keys = keys
        self._prices = PlayPrices(self._plays.all, keys)
        self._play_table = PlayTable(self._plays.all, keys)
        self._observations = NextObservations(rulebook, evidence)
        self._order = {kind.id: (kind.starter or NO_STARTER, n) for n, kind in enumerate(rulebook.kinds.values())}
        self._rule = rulebook.defaults["looks"]
        stages = enumerate(self._rule["warm_up_order"], start=1)
        self._stage = {f"warmup.{key}": stage for stage, keys in stages for key in keys}
        starters = [kind for kind in rulebook.kinds.values() if kind.starter is not None]
        self._starter_set = sorted(starters, key=lambda kind: self._order[kind.id])

    def stakes(
        self,
        situation: Situation,
        beliefs: Beliefs,
        *,
        inference: Inference,
        firings: Firings,
        base: Baseline,
        pricer: MatchPricer,
    ) -> Stakes:
        """What hangs on each belief in the ways of playing that wait for nothing but their traits."""
        open_plays = self._plays.open(inference, firings, situation.own)
        chances = [belief.probability for belief in beliefs.all]
        gains = self._prices.gains(
            open_plays, situation, chances, base=base, pricer=pricer, defaults=self._rulebook.defaults
        )
        return self._play_table.at_stake(gains, chances)

    def look_for(
        self, situation: Situation, beliefs: Beliefs, stakes: Stakes, mute: Collection[str]
    ) -> tuple[Look, ...]:
        """Return the looks that are worth most, best first, filled up from the starter set in its order.

        The hand comes first while it is unknown. If something posted told nothing (`mute`: the subjects of such kinds),
        the last place goes to the first of the starter set at the same subject; outdoors it goes to the wind while that
        is unknown. Looks of the warm-up come in its order. If `minutes_left` of it are posted, there are only as many
        as fit into them; if none fits any more, the looks are those of the first games.
        """
        fitting = looks_that_fit(situation, float(self._rule["minutes"]))
        phases = phases_left(situation, fitting)
        if not phases:
            return ()
        most = min(int(self._rule["shown"]), fitting) if fitting else int(self._rule["shown"])
        gone = set(self._impossible(situation))
        first = [] if HAND in gone else [_starter_look(self._rulebook.kinds[HAND])]
        looks = first + self._best(situation, phases, beliefs, stakes, gone={*gone, HAND}, most=most - len(first))
        if mute:
            if phases == (Phase.GAMES,):
                mute = {"rally" if subject == "warmup" else subject for subject in mute}
            starters = (kind for kind in self._starters(situation, phases, looks, gone) if kind.subject in mute)
            if instead := next(starters, None):
                looks = [*looks[: max(len(first), most - 1)], _starter_look(instead)][:most]
        if len(looks) < most:
            more = islice(self._starters(situation, phases, looks, gone), most - len(looks))
            looks += map(_starter_look, more)
        if _wind_is_open(situation):
            looks = [*looks[: max(len(first), most - 1)], _starter_look(self._rulebook.kinds[WIND])][:most]
        return tuple(sorted(looks, key=self._when) if Phase.WARM_UP in phases else looks)

    def _when(self, look: Look) -> int:
        """Return when in a warm-up the look is taken: before it, at the strokes from the baseline, at a later stage."""
        return self._stage.get(look.what, 0) if Phase.BEFORE not in self._rulebook.kinds[look.what].phases else -1

    def _impossible(self, situation: Situation) -> Iterator[str]:
        """Yield the kinds that cannot be seen next, and those that were answered: in the profile, or by no count."""
        yield from (f"opponent.{key}" for key, value in situation.opponent.items() if value is not None)
        if not _windy(situation):
            yield IN_WIND
        if situation.moment is Moment.BETWEEN_POINTS and situation.score:
            server = situation.score.get("server")
            other = {"own": THEIR_SERVE, "opponent": OUR_SERVE}.get(str(server))
            yield from (kind.id for kind in self._rulebook.kinds.values() if kind.subject == other)
        yield from (seen.what for seen in situation.observations if _just_graded(seen, situation))
        played = games_played(situation)
        tried = any(tries.tried for tries in situation.tries)
        for name, games in self._rule["games_before"].items():
            if played < games and not (tried and name in self._rule["or_tried"]):
                yield name

    def _best(
        self,
        situation: Situation,
        phases: Phases,
        beliefs: Beliefs,
        stakes: Stakes,
        *,
        gone: Collection[str],
        most: int,
    ) -> list[Look]:
        """Return the looks worth taking, the best first: one a kind, and one a trait that they tell most of.

        All but the last place go to looks at what has begun to show, so that a lean becomes sure or falls; the others
        to what may be worth most, seen or not. A look tells of several traits: of the first in full, of the others with
        the weight of a family, since they often lead to the same play.
        """
        now, prior = np.array([(belief.probability, belief.prior) for belief in beliefs.all]).T
        rule, sure = self._rule, float(self._rule["sure"])
        lean = np.maximum(now - prior, 0.0) / (1.0 - prior)
        confirms = np.where(lean >= float(rule["begun"]), lean * stakes.swing, 0.0)
        known = (now > sure) | ((now < 1.0 - sure) & (now < prior))
        stake = np.where(known, 0.0, np.maximum(stakes.certainty, confirms))
        wanted = {self._keys[place] for place in np.flatnonzero(stake >= MIN_WORTH)}
        found = self._observations.outcomes(beliefs, phases, wanted, gone)
        of = np.array([self._places[key] for key in found.keys], dtype=np.intp)
        tells = found.tells
        rows = np.flatnonzero(stake[of] * tells >= MIN_WORTH)
        gains = stakes.worth(of[rows], found.p_if_true[rows], found.p_if_false[rows])
        confirmed = confirms[of[rows]] * tells[rows]
        if not len(rows):
            return []
        look = found.look[rows]
        starts = np.flatnonzero(np.diff(look, prepend=-1))
        looks = [found.looks[place] for place in look[starts].tolist()]
        weights = self._weights(looks, situation, beliefs)
        others = float(self._rulebook.defaults["family_weight"])

        def together(parts: Array) -> Array:
            best = np.maximum.reduceat(parts, starts)
            return np.asarray(best + others * (np.add.reduceat(parts, starts) - best))

        worth = together(gains).tolist()

        def ranked(parts: Array) -> Iterator[Look]:
            totals = (together(parts) * weights).round(6).tolist()
            worthy = [place for place, total in enumerate(totals) if total >= MIN_WORTH]
            ends = [*starts[1:].tolist(), len(rows)]
            for n in sorted(worthy, key=lambda n: (-totals[n], self._order[looks[n].kind.id], looks[n].wing or "")):
                row = starts[n] + int(parts[starts[n] : ends[n]].argmax())
                yield _look(looks[n], found.keys[rows[row]], round(worth[n], WORTH_DIGITS))

        first = islice(_distinct(ranked(confirmed)), max(1, most - 1))
        return list(islice(_distinct(chain(first, ranked(gains), ranked(confirmed))), most))

    def _weights(self, looks: Iterable[Seen], situation: Situation, beliefs: Beliefs) -> Array:
        """Return how much each look counts: more on the side that hurts, and if habits bring it up often."""
        rule = self._rule
        by_subject = self._sides(situation)
        for subject, habits in rule["more_often"].items():
            shown = [e.estimate / e.usual for e in beliefs.profile if e.player == OPPONENT and e.quality in habits]
            by_subject[subject] = max([1.0, *shown])
        beyond = float(rule["beyond_starters"])
        kinds = [look.kind for look in looks]
        return np.array([by_subject.get(k.subject, 1.0) * (beyond if k.starter is None else 1.0) for k in kinds])

    def _sides(self, situation: Situation) -> dict[str, float]:
        """Return by subject what counts more and less, if clearly more points than usual are lost on one side."""
        played, defaults = situation.points_played, self._rulebook.defaults
        gap = situation.context.get("level_gap")
        usual, now = posteriors(gap, None, defaults), posteriors(gap, played, defaults)
        on_serve, on_return = (usual.serve.mean - now.serve.mean, usual.return_.mean - now.return_.mean)
        if max(on_serve, on_return) < float(self._rule["hurts"]):
            return {}
        aside, hurts = (OUR_SERVE, THEIR_SERVE) if on_return > on_serve else (THEIR_SERVE, OUR_SERVE)
        weight = float(self._rule["aside"])
        return {aside: weight, hurts: 1.0 / weight}

    def _starters(
        self, situation: Situation, phases: Phases, looks: Iterable[Look], gone: Collection[str]
    ) -> Iterator[ObservationKind]:
        """Yield the kinds of the starter set that can still be seen, have not been, and are not among the looks."""
        left_out = {*gone, *(seen.what for seen in situation.observations), *(look.what for look in looks)}
        for kind in self._starter_set:
            if kind.id not in left_out and not is_known(situation, kind) and not set(kind.phases).isdisjoint(phases):
                yield kind


def _distinct(looks: Iterable[Look]) -> Iterator[Look]:
    """Yield the first look of every kind and trait."""
    told: set[str | None] = set()
    for look in looks:
        if told.isdisjoint((look.what, look.trait)):
            told |= {look.what, look.trait}
            yield look


def looks_that_fit(situation: Situation, minutes: float) -> int | None:
    """Return how many looks of so many minutes the rest of the warm-up has room for, None if that is not limited."""
    if situation.minutes_left is None or situation.moment is not Moment.AFTER_WARM_UP:
        return None
    return int(situation.minutes_left / minutes)


def phases_left(situation: Situation, fitting: int | None) -> Phases:
    """Return the phases still to come; the warm-up is over unless looks fit in it, or from the first game on."""
    if situation.moment is Moment.AFTER_MATCH:
        return ()
    if situation.score is not None and (games_played(situation) or _points_played(situation.score)):
        return (Phase.GAMES,)
    return (Phase.WARM_UP,) if fitting else STILL_TO_COME[situation.moment]


def _just_graded(seen: Observation, situation: Situation) -> bool:
    """Report whether an observation of this set is no count, so that asking again would bring the same answer."""
    now = len((situation.score or {}).get("sets") or ()) + 1
    return seen.way not in COUNTED and seen.set in (None, now)


def games_played(situation: Situation) -> int:
    """Return how many games were played, 0 without a score."""
    score = situation.score or {}
    return sum(map(sum, score.get("sets") or ())) + sum(score.get("games") or ())


def _points_played(score: Mapping[str, Any]) -> bool:
    return any(str(points) != "0" for points in score.get("points") or ())


def _windy(situation: Situation) -> bool:
    return situation.context.get("setting") != "indoor" and situation.context.get("wind") not in (None, "none")


def _wind_is_open(situation: Situation) -> bool:
    """Report whether the wind is worth a question: outdoors, not posted, and with time to feel it."""
    context = situation.context
    outdoors = context.get("setting") == "outdoor" and context.get("wind") is None
    return outdoors and situation.moment is not Moment.BETWEEN_POINTS


def is_known(situation: Situation, kind: ObservationKind) -> bool:
    """Whether the kind is no matter of looking at the opponent, or has been posted in the profile."""
    match kind.subject:
        case "opponent":
            return kind.health or situation.opponent.get(kind.key) is not None
        case "own" | "context" | "plan" | "record":
            return True
        case _:
            return kind.health


def _look(look: Seen, key: TraitKey, worth: float) -> Look:
    how = look.kind.probe or look.kind.asks
    return Look(look.kind.id, look.kind.asks, f"{how} ({look.wing})" if look.wing else how, worth, key[0], look.wing)


def _starter_look(kind: ObservationKind) -> Look:
    return Look(kind.id, kind.asks, kind.probe or kind.asks, 0.0)
