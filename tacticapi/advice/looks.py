"""Find what to look for next: first what could improve the plan most, then what a beginner would look at first."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice, takewhile
from typing import Any, Final, NamedTuple

import numpy as np

from tacticapi.advice.selection import AT_THE_START, games_played, is_owned
from tacticapi.domain.advice import Look
from tacticapi.domain.reasoning import Firings
from tacticapi.domain.rules import Alternative, FactKind, Gate, ObservationKind, Rulebook, Touches, Trait, TraitKey
from tacticapi.domain.situation import Moment, Phase, Situation, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.entries import COUNTED
from tacticapi.evidence.gaussian import Array
from tacticapi.evidence.next_observation import Glance, NextObservations
from tacticapi.pricing.baseline import Baseline, posteriors
from tacticapi.pricing.price import PriceBook, Prices

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(13)
NODES, WEIGHTS = NODES[1:-1], WEIGHTS[1:-1] / WEIGHTS[1:-1].sum()  # the outermost pair has a weight of 3 in 100 million
STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.GAMES,),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (Phase.GAMES,),  # of the next match against them
}
WORTH_DIGITS = 4
MIN_WORTH = 0.5 * 10**-WORTH_DIGITS  # anything smaller is reported as 0
HAND: Final = "opponent.handedness"  # until it is known, an onlooker cannot name the wings
WIND: Final = "context.wind"
CHANGE: Final = "conduct.change_of_play"  # a player who is losing to a plan looks for an answer
IN_WIND: Final = "rally.adds_margin_in_wind"
THEIR_SERVE, OUR_SERVE = "serve", "return"  # subjects seen in their service games, and in ours
Phases = tuple[Phase, ...]


class Plays:
    """The price-book rows that could be played: all their conditions except beliefs are met."""

    def __init__(self, rulebook: Rulebook, book: PriceBook) -> None:
        plays: dict[tuple[str, int], _Play] = {}
        for tactic in rulebook.tactics.values():
            if tactic.price:
                for number, alternative in enumerate(tactic.when):
                    rests = tuple(_rests(alternative, rulebook.traits))
                    wings = [wing for _, wing in rests if wing] or [*Wing] if tactic.price.aims else [None]
                    rows = tuple({book.place[tactic.id, wing]: None for wing in wings})
                    plays[tactic.id, number] = _Play(tactic.needs, rows, rests)
        self._plays = plays

    def open(
        self, firings: Firings, own: Mapping[str, Any], condemned: Collection[str]
    ) -> tuple[list[int], dict[TraitKey, int]]:
        """Return the rows that can be played (we have the strokes and nothing rules them out) and their traits."""
        shut = {*firings.counters, *condemned}
        plays = [play for one in firings.playable if one[0] not in shut and (play := self._plays.get(one))]
        plays = [play for play in plays if not play.needs or all(is_owned(gate, own) for gate in play.needs)]
        rows = sorted({row for play in plays for row in play.rows})
        return rows, {key: play.rows[-1] for play in plays for key in play.rests}


class _Play(NamedTuple):
    """A way to play a tactic: its gates, its price-book rows, and the beliefs that it may depend on."""

    needs: tuple[Gate, ...]
    rows: tuple[int, ...]
    rests: tuple[TraitKey, ...]


def _rests(alternative: Alternative, traits: Mapping[str, Trait]) -> Iterator[TraitKey]:
    for condition in alternative.conditions:
        if condition.kind is FactKind.BELIEF:
            named = {test.value for test in condition.tests if test.field == "wing"}
            yield from ((condition.name, wing) for wing in traits[condition.name].wings if not named or wing in named)


class _Plan:
    """A plan, worth its two best gains on serve, on return and in rallies; lines that gain nothing are not played."""

    def __init__(self, parts: Sequence[Touches]) -> None:
        self._parts = [[n for n, one in enumerate(parts) if one is part] for part in dict.fromkeys(parts)]

    def worth(self, now: Array, by: Array) -> Array:
        """Return the plan's worth after each look, (nodes, looks), from gains (rows,) and shifts (rows, looks)."""
        looks = by.shape[1]
        nodes, moves = np.repeat(NODES, looks), np.tile(by, len(NODES))
        total, least = np.zeros_like(nodes), np.empty_like(nodes)
        for rows in self._parts:
            best, second = np.zeros_like(nodes), np.zeros_like(nodes)
            for row in rows:
                gain = nodes * moves[row]
                gain += now[row]
                np.maximum(second, np.minimum(best, gain, out=least), out=second)
                np.maximum(best, gain, out=best)
            total += best + second
        return total.reshape(len(NODES), looks)

    def rivals(self, row: int, gains: Sequence[float]) -> int | None:
        """Return the best row that would replace this row, or None if no other row gains anything."""
        rows = next(rows for rows in self._parts if row in rows)
        others = [other for other in rows if other != row and gains[other] > 0.0]
        return max(others, key=lambda other: gains[other], default=None)


class LookFinder:
    """Finds looks with one rulebook. What a first look at each kind can show is computed only once."""

    def __init__(self, rulebook: Rulebook, evidence: EvidenceModel, book: PriceBook) -> None:
        self._rulebook, self._evidence, self._book = rulebook, evidence, book
        self._plays = Plays(rulebook, book)
        self._observations = NextObservations(rulebook, evidence)
        self._rule = rulebook.defaults["looks"]
        stages = enumerate(self._rule["warm_up_order"], start=1)
        in_order = {f"warmup.{key}": stage for stage, keys in stages for key in keys}
        self._stage = {  # the warm-up stage for looking at each kind; -1 means before the warm-up
            kind.id: -1 if Phase.BEFORE in kind.phases else in_order.get(kind.id, 0) for kind in rulebook.kinds.values()
        }
        starters = [kind for kind in rulebook.kinds.values() if kind.starter is not None]
        self._starter_set = sorted(starters, key=lambda kind: kind.starter or 0)

    def look_for(
        self,
        situation: Situation,
        beliefs: Beliefs,
        prices: Prices,
        *,
        firings: Firings,
        rates: Mapping[Touches, float],
        mute: Collection[str],
        condemned: Collection[str],
        watched: bool,
    ) -> tuple[Look, ...]:
        """Return the most valuable looks, best first, and fill the remaining places from the starter set, in its order.

        Handedness comes first while it is unknown. If an observation revealed nothing (`mute`: the subjects of such
        kinds), the last place goes to the first starter look on the same subject. Outdoors, before the first game, it
        goes to the wind if that is unknown; later, to a change in their play if a plan is `watched` (it stays and was
        tried often enough). Nothing is asked about `condemned` tactics. Warm-up looks follow the order of the warm-up.
        If `minutes_left` is posted, only looks that fit in are returned; if none fits, looks for the first games are.
        """
        fitting = looks_that_fit(situation, float(self._rule["minutes"]))
        phases = phases_left(situation, fitting)
        if not phases:
            return ()
        most = min(int(self._rule["shown"]), fitting) if fitting else int(self._rule["shown"])
        gone = set(self._impossible(situation))
        first = [] if HAND in gone else [_starter_look(self._rulebook.kinds[HAND])]
        best = self._best(
            situation,
            phases,
            beliefs,
            prices,
            plays=self._plays.open(firings, situation.own, condemned),
            rates=rates,
            gone={*gone, HAND},
        )
        looks = first + list(islice(_distinct(best), most - len(first)))
        if mute:
            if phases == (Phase.GAMES,):
                mute = {"rally" if subject == "warmup" else subject for subject in mute}
            starters = (kind for kind in self._starters(situation, phases, looks, gone) if kind.subject in mute)
            if instead := next(starters, None):
                looks = [*looks[: max(len(first), most - 1)], _starter_look(instead)][:most]
        if len(looks) < most:
            more = islice(self._starters(situation, phases, looks, gone), most - len(looks))
            looks += map(_starter_look, more)
        context = situation.context
        outdoors = context.get("setting") == "outdoor" and situation.moment in AT_THE_START
        wind_is_open = outdoors and context.get("wind") is None
        last = WIND if wind_is_open else CHANGE if watched and CHANGE not in gone else None
        if last and last not in {look.what for look in looks}:
            looks = [*looks[: max(len(first), most - 1)], _starter_look(self._rulebook.kinds[last])][:most]
        return tuple(sorted(looks, key=lambda look: self._stage[look.what]) if Phase.WARM_UP in phases else looks)

    def _impossible(self, situation: Situation) -> Iterator[str]:
        """Yield the kinds that cannot be seen next, and those already answered by the profile or by an observation."""
        yield from (f"opponent.{key}" for key, value in situation.opponent.items() if value is not None)
        if situation.context.get("setting") == "indoor" or situation.context.get("wind") in (None, "none"):
            yield IN_WIND
        if situation.moment is Moment.BETWEEN_POINTS and situation.score:
            server = situation.score.get("server")
            other = {"own": THEIR_SERVE, "opponent": OUR_SERVE}.get(str(server))
            yield from (kind.id for kind in self._rulebook.kinds.values() if kind.subject == other)
        score = situation.score or {}
        now = len(score.get("sets") or ()) + any(score.get("games") or ())
        just_graded = (seen for seen in situation.observations if seen.way not in COUNTED and (seen.set or now) >= now)
        yield from (seen.what for seen in just_graded)
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
        prices: Prices,
        *,
        plays: tuple[list[int], dict[TraitKey, int]],
        rates: Mapping[Touches, float],
        gone: Collection[str],
    ) -> Iterator[Look]:
        """Yield the looks that are worth taking, best first.

        A look is worth the plan's average gain over all possible results. All places but the last go to looks at
        tendencies that have begun to show, so that each is confirmed or dropped.
        """
        rows, rests = plays
        if not rows:
            return
        book = self._book
        parts = [book.of[row].points for row in rows]
        scale = np.array([rates[part] for part in parts])
        leans, sums, spots = self._leaning(beliefs, rests, rates)
        looks, moves = self._observations.moves(
            beliefs, phases, np.vstack((prices.slopes[rows], sums)), np.concatenate((book.spot[rows], spots)), gone
        )
        by = np.ascontiguousarray(moves[:, : len(rows)].T) * (book.share[rows] * scale)[:, np.newaxis]
        now, plan = prices.after[rows] * scale, _Plan(parts)
        gained = plan.worth(now, by)
        worth = WEIGHTS @ gained - gained[len(NODES) // 2]  # the middle node is where things are now
        weights = self._weights(looks, situation, prices.base)
        told_more = (np.abs(moves[:, len(rows) :]) * leans).max(axis=1, initial=0.0)
        confirms, gains = (told_more * weights).round(7), (worth * weights).round(7)

        def told(by_worth: Array, least: float) -> Iterator[Look]:
            for n in takewhile(lambda n: by_worth[n] >= least, np.argsort(-by_worth, kind="stable").tolist()):
                kind, wing, *_ = looks[n]
                how = (kind.probe or kind.asks) + (f" ({wing})" if wing else "")
                decides = self._decides(rows, plan, now, by[:, n])
                yield Look(kind.id, kind.asks, how, round(float(worth[n]), WORTH_DIGITS), decides, wing)

        first = islice(_distinct(told(confirms, float(self._rule["confirms"]))), int(self._rule["shown"]) - 1)
        yield from chain(first, told(gains, MIN_WORTH), told(confirms, MIN_WORTH))

    def _leaning(
        self, beliefs: Beliefs, rests: Mapping[TraitKey, int], rates: Mapping[Touches, float]
    ) -> tuple[Array, Array, Array]:
        """Return the traits that have begun to show: the value of moving each, its sum, which are serve spots."""
        book, value = self._book, float(self._book.figures["value"])
        regions = self._evidence.regions[beliefs.opponent.latent.level]
        found = []
        for key, row in rests.items():
            belief = beliefs.by_key[key]
            lean = (belief.probability - belief.prior) / (1.0 - belief.prior)
            if lean >= float(self._rule["begun"]):
                worth = lean * 2.0 * (1.0 - belief.probability) * float(book.share[row]) * rates[book.of[row].points]
                spots = key not in regions.place
                one = np.zeros(regions.sums.shape[1]) if spots else regions.sums[regions.place[key]]
                found.append((worth * (float(book.spot[row]) if spots else value), one, float(spots)))
        worths, sums, at = zip(*found, strict=True) if found else ((), (), ())
        return np.array(worths), np.array(sums).reshape(len(found), regions.sums.shape[1]), np.array(at)

    def _decides(self, rows: Sequence[int], plan: "_Plan", now: Array, by: Array) -> tuple[str, ...]:
        """Return the tactic that a look supports or rules out most, and the tactic that would replace it."""
        row = int(np.abs(by).argmax())
        other = plan.rivals(row, (now - np.sign(by[row]) * by).tolist())
        places = (row,) if other is None else (row, other)
        return tuple(dict.fromkeys(self._book.rows[rows[place]][0] for place in places))

    def _weights(self, looks: Iterable[Glance], situation: Situation, now: Baseline) -> Array:
        """Return each look's weight: higher for serve or return if you clearly lose too many points on it."""
        weights = np.array([look.weight for look in looks])
        usual = posteriors(situation.context.get("level_gap"), None, self._rulebook.defaults)
        on_serve, on_return = (usual.serve.mean - now.serve.mean, usual.return_.mean - now.return_.mean)
        if max(on_serve, on_return) < float(self._rule["hurts"]):
            return weights
        aside, hurts = (OUR_SERVE, THEIR_SERVE) if on_return > on_serve else (THEIR_SERVE, OUR_SERVE)
        by_subject = {aside: float(self._rule["aside"]), hurts: 1.0 / float(self._rule["aside"])}
        return weights * [by_subject.get(look.kind.subject, 1.0) for look in looks]

    def _starters(
        self, situation: Situation, phases: Phases, looks: Iterable[Look], gone: Collection[str]
    ) -> Iterator[ObservationKind]:
        """Yield the starter kinds that can still be seen, have not been seen yet, and are not among the looks."""
        left_out = {*gone, *(seen.what for seen in situation.observations), *(look.what for look in looks)}
        for kind in self._starter_set:
            if kind.id not in left_out and not is_known(situation, kind) and not set(kind.phases).isdisjoint(phases):
                yield kind


def _distinct(looks: Iterable[Look]) -> Iterator[Look]:
    told: set[str] = set()
    for look in looks:
        about = {look.what, *look.decides[:1]}
        if told.isdisjoint(about):
            told |= about
            yield look


def looks_that_fit(situation: Situation, minutes: float) -> int | None:
    """Return how many looks of this length fit into the rest of the warm-up, or None if time is not limited."""
    if situation.minutes_left is None or situation.moment is not Moment.AFTER_WARM_UP:
        return None
    return int(situation.minutes_left / minutes)


def phases_left(situation: Situation, fitting: int | None) -> Phases:
    """Return the phases still to come. The warm-up is over if no look fits into it, or once a game has begun."""
    points = (situation.score or {}).get("points") or ()
    if games_played(situation) or any(str(point) != "0" for point in points):
        return (Phase.GAMES,)
    return (Phase.WARM_UP,) if fitting else STILL_TO_COME[situation.moment]


def is_known(situation: Situation, kind: ObservationKind) -> bool:
    """Report whether the kind needs no look: it is not about the opponent, or the profile already has it."""
    match kind.subject:
        case "opponent":
            return kind.health or situation.opponent.get(kind.key) is not None
        case "own" | "context" | "plan" | "record":
            return True
        case _:
            return kind.health


def _starter_look(kind: ObservationKind) -> Look:
    return Look(kind.id, kind.asks, kind.probe or kind.asks, 0.0)
