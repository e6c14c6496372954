"""Run every step from a situation to advice. Each step is in the folder named after it."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import partial
from itertools import filterfalse
from typing import Any

from tacticapi.advice.explain import WhyNot, why_or_why_not
from tacticapi.advice.looks import LookFinder
from tacticapi.advice.plan import (
    ASKED,
    best_tried,
    changed_since,
    is_condemned,
    is_doubtful,
    is_proven,
    tries_words,
    verdict,
)
from tacticapi.advice.safety import is_junior, notices, safety_lines, withheld
from tacticapi.advice.selection import (
    Value,
    around_plan,
    forbidden,
    hold_back,
    is_safety,
    limited,
    not_in_the_next_point,
    ranked,
    settle_conflicts,
    steady,
    weighed,
)
from tacticapi.advice.suggestions import Slots, SuggestionWriter, left_open
from tacticapi.advice.words import score_line, unread_texts, unused
from tacticapi.domain.advice import Advice, HeldBackTactic, Plan, Safety, Suggestion
from tacticapi.domain.reasoning import Fact, Firing, Firings, Inference, MatchRule, Priced
from tacticapi.domain.rules import Rulebook, Touches
from tacticapi.domain.situation import Chosen, Moment, Show, Situation, Tries, Verdict, chosen, summed, tries_since
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.entries import UNDATED
from tacticapi.pricing.baseline import Judged, baseline
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.pricing.price import PriceBook, Prices
from tacticapi.rulebook.circumstances import View, holding
from tacticapi.rulebook.danger import DangerReader, Health
from tacticapi.rulebook.facts import FactBuilder
from tacticapi.rulebook.match_rules import read_firings
from tacticapi.rulebook.matcher import Matcher
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import NextPoint, State, next_point


@dataclass(frozen=True, slots=True)
class Trace:
    """Advice with its full explanation: the facts, every rule that fired, and answers to "why" and "why not"."""

    advice: Advice
    facts: tuple[Fact, ...]
    inference: Inference
    rules: Mapping[str, MatchRule]
    questions: tuple[WhyNot, ...]


@dataclass(frozen=True, slots=True)
class _Reading:
    """Everything read from a situation before any rule is matched: score, beliefs, levels and tries.

    `chosen` is the tactic being played, `told` how its tries are judged, `before` its tries before their last change
    of play; `judged` judges all tries, and `condemned` lists the tactics that clearly did worse.
    """

    state: State
    point: NextPoint
    beliefs: Beliefs
    prices: Prices
    pricer: MatchPricer
    chosen: Chosen | None
    told: Judged | None
    before: Tries | None
    judged: Mapping[str, Judged]
    condemned: Mapping[str, str]
    view: View
    facts: tuple[Fact, ...]


SINCE_THE_FIRST_POINT = (Moment.BETWEEN_POINTS, Moment.CHANGE_OF_ENDS, Moment.SET_BREAK, Moment.AFTER_MATCH)
Watch = Callable[[Advice, Inference], None]
"""Takes a piece of advice and what fired for it."""
Judge = Callable[[str, Iterable[Tries]], Judged]
"""Takes a tactic and all tries; judges the tries of that tactic."""


class Adviser:
    """Gives advice from one rulebook. Calls are independent of each other."""

    def __init__(self, rulebook: Rulebook, matcher: Matcher | None = None) -> None:
        """Index the evidence, compile the rules (once per process) and collect what they ask for."""
        self.rulebook = rulebook
        self.matcher = matcher or Matcher(rulebook)
        self.evidence = EvidenceModel(rulebook)
        self._facts = FactBuilder(rulebook)
        self._danger = DangerReader(rulebook)
        self._book = PriceBook(rulebook, self.evidence.profiles)
        self._looks = LookFinder(rulebook, self.evidence, self._book)
        self._rules = {rule.id: rule for rule in self.matcher.rules}
        self._watch: Watch | None = None

    def watched(self, watch: Watch) -> "Adviser":
        """Return a copy of this adviser that passes every piece of advice to `watch`."""
        made = copy(self)
        made._watch = watch
        return made

    def recommend(self, situation: Situation, *, profile: bool = False) -> Advice:
        """Return the advice for a checked situation, with the players' profiles if requested.

        The same situation and rulebook always produce the same advice.
        """
        reading = self._read(situation)
        return self._told(situation, reading, self.matcher.match(reading.facts), profile=profile)

    def trace(self, situation: Situation, tactic: str | None = None) -> Trace:
        """Return the advice, facts, fired rules, and "why" or "why not" for one tactic or all. Raises KeyError."""
        reading = self._read(situation, whole=True)
        inference = self.matcher.match(reading.facts)
        advice = self._told(situation, reading, inference, profile=True)
        if _in_the_way(situation, reading.view.health, advice.safety):
            return Trace(advice, (), Inference((), {}, inference.engine), {}, ())
        asked = [self.rulebook.tactics[tactic]] if tactic else list(self.rulebook.tactics.values())
        firings = read_firings(inference, self.rulebook)
        why = partial(why_or_why_not, situation=situation, prices=reading.prices)
        questions = tuple(why(t, inference, firings, advice) for t in asked)
        fired = {match.rule: self._rules[match.rule] for match in inference.matches}
        return Trace(advice, tuple(inference.facts.values()), inference, fired, questions)

    def standing(self, situation: Situation) -> Advice | None:
        """Return the safety lines and the notice that replace advice, or None if advice may be given."""
        reading = self._read(situation)
        advice = self._advise(situation, reading, self.matcher.match(reading.facts))
        return advice if _in_the_way(situation, reading.view.health, advice.safety) else None

    def judge(self, situation: Situation) -> Judge:
        """Return a function that judges the tries of a tactic in this situation, in the same way as the plan."""
        return self._read(situation).prices.judge

    def signs_in_facts(self, *profiles: Mapping[str, Any]) -> tuple[str, ...]:
        """Return the names of the danger signs posted among the facts in own, opponent and context."""
        return self._danger.in_facts(*profiles)

    def _read(self, situation: Situation, *, whole: bool = False) -> _Reading:
        fmt = Format.from_wire(situation.context.get("format"))
        state = read_score(fmt, situation.score)
        scored = state if situation.score is not None else None
        point = next_point(state)
        beliefs = self.evidence.believe(situation)
        base = baseline(situation, self.rulebook.defaults)
        pricer = MatchPricer(fmt, state, base)
        prices = Prices(self._book, beliefs, situation, base)
        rule, playing = self.rulebook.defaults["plan"], chosen(situation)
        began = max(beliefs.change or UNDATED, (playing.since if playing else None) or UNDATED)
        judged_by = situation.judged_since(began) if began > UNDATED else situation
        told = before = None
        if playing:
            since = tries_since(situation.tries, beliefs.change)
            before = summed(filterfalse(since.__contains__, situation.tries)).get(playing.tactic)
            told = prices.judge(playing.tactic, tries_since(since, beliefs.change, playing.since))
        judged = prices.judged | ({told.tactic: told} if told else {})
        condemned = {name: f"{tries_words(one)}: drop it" for name, one in judged.items() if is_condemned(one, rule)}
        current = [entry.observation for entry in beliefs.entries if entry.current]
        view = View(
            judged_by,
            self.rulebook.defaults,
            scored,
            point if scored else None,
            pricer.importance if scored else None,
            told is not None and is_doubtful(told, rule),
            told is not None and is_proven(told, rule),
            bool(beliefs.shifts),
            self._danger.read(situation),
        )
        facts = self._facts.build(view, beliefs.all, current, whole=whole)
        return _Reading(state, point, beliefs, prices, pricer, playing, told, before, judged, condemned, view, facts)

    def _told(self, situation: Situation, reading: _Reading, inference: Inference, *, profile: bool) -> Advice:
        advice = self._advise(situation, reading, inference, profile=profile)
        if self._watch:
            self._watch(advice, inference)
        return advice

    def _advise(
        self, situation: Situation, reading: _Reading, inference: Inference, *, profile: bool = False
    ) -> Advice:
        firings = read_firings(inference, self.rulebook)
        health = reading.view.health
        safety = safety_lines(firings, self.rulebook, health)
        advice = partial(Advice, situation.moment, self.rulebook.version, self.rulebook.digest, safety)
        if why := withheld(situation):
            return advice(notice=(why,))
        notice = notices(situation, reading.state, self.rulebook)
        if any(line.alone for line in safety):
            return advice(notice=notice)
        asked = frozenset(holding(reading.view, ASKED))
        word, why = verdict(reading.view.situation, reading.told, asked, self.rulebook, reading.before)
        rates = reading.pricer.rates()
        shown, values, weights, held = self._select(situation, reading, firings, rates, word)
        level = reading.beliefs.opponent.latent.level
        next_point = situation.moment is Moment.BETWEEN_POINTS and situation.score is not None
        courts = reading.point.courts if next_point else ()  # the courts the opponent may serve to next; () means both
        left = left_open(situation, reading.beliefs.change, self.rulebook.kinds)
        writer = SuggestionWriter(
            self.rulebook,
            situation,
            reading.beliefs.by_key,
            reading.pricer,
            reading.prices,
            health,
            reading.judged,
            Slots(situation, reading.beliefs.spots, courts, left),
        )
        if health.pain and health.pain.stops:
            first = [item for item in shown if is_safety(item.firing.tactic)]
            return advice(suggestions=writer.write(first, weights, level), notice=notice)
        suggestions = writer.write(shown, weights, level)
        beliefs, least = reading.beliefs.all, int(self.rulebook.defaults["plan"]["tries"])
        told_nothing = unused(situation, reading.beliefs.refused, beliefs, inference)
        unread = unread_texts(situation, self.rulebook)
        return advice(
            plan=_plan(word, why, reading, suggestions),
            score=_score(situation, reading),
            suggestions=suggestions,
            changed=changed_since(
                situation.previous,
                self.rulebook,
                suggestions=suggestions,
                values=values,
                held=held,
                beliefs=beliefs,
                shifts=reading.beliefs.shifts,
            ),
            look_for=self._looks.look_for(
                situation,
                reading.beliefs,
                reading.prices,
                firings=firings,
                rates=rates,
                mute={u.what.partition(".")[0] for u in told_nothing if u.observation not in reading.beliefs.refused},
                condemned=reading.condemned,
                watched=word is Verdict.KEEP and reading.told is not None and reading.told.tried >= least,
            ),
            held_back=tuple(held),
            unused=(*told_nothing, *unread),
            beliefs=beliefs,
            profile=self.evidence.profile(reading.beliefs) if profile else (),
            notice=notice,
        )

    def _select(
        self, situation: Situation, reading: _Reading, firings: Firings, rates: Mapping[Touches, float], word: Verdict
    ) -> tuple[list[Priced], dict[str, Value], dict[str, float], list[HeldBackTactic]]:
        """Return what to show, in order, with its value and the counted part of its price, and what to hold back."""
        health, rule = reading.view.health, self.rulebook.defaults["plan"]
        defaults, categories, prices = self.rulebook.defaults, self.rulebook.categories, reading.prices
        priced = [prices.of(found) for found in firings.by_tactic.values()]
        kept, held = hold_back(priced, firings, situation, self.rulebook, health, condemned=reading.condemned)
        worked = [one.tactic for one in best_tried(reading.judged.values(), rule)]
        over = situation.moment is Moment.AFTER_MATCH
        playing = [reading.chosen.tactic] if reading.chosen and word is Verdict.KEEP and not over else []
        lines = {name: self._line(name, situation, reading, firings) for name in (*playing, *(worked if over else ()))}
        kept += [line for name, line in lines.items() if line and name not in {p.firing.tactic.id for p in kept}]
        plan = lines[playing[0]] if playing else None
        raw = {p.firing.tactic.id: Value(rates[p.firing.tactic.touches] * p.learned, p.learned) for p in kept}
        kept, lost = settle_conflicts(kept, {name: value.match for name, value in raw.items()}, worked)
        if plan and any(one.tactic == plan.firing.tactic.id for one in lost):
            kept, lost = [*kept, plan], [one for one in lost if one.tactic != plan.firing.tactic.id]
        gains = [p for p in kept if p.place is not None]
        alike = prices.alike([p.place for p in gains if p.place is not None]) > float(prices.book.figures["alike"])
        values = raw | weighed(gains, raw, alike, float(defaults["family_weight"]))
        weights = {name: value.point / raw[name].point if raw[name].point else 1.0 for name, value in values.items()}
        some = float(prices.book.figures["size"]["some"])
        tactical = int(defaults["juniors"]["tactical_lines"]) if is_junior(situation) else None
        ordered = ranked(kept, values, some, worked if over else ())
        if plan:
            beside = situation.limit or int(rule["reminders"])
            margin = float("-inf") if situation.limit else float(rule["margin"])  # a request for more gets more
            ordered = around_plan(ordered, plan, values, margin, beside)
        else:
            ordered = steady(ordered, values, situation.previous, float(rule["hysteresis"]))
        safe = sum(is_safety(item.firing.tactic) and item.firing.tactic.show is Show.FIRST for item in ordered)
        limit = situation.limit or self.rulebook.moments[situation.moment].limit + safe  # these take no tactic's place
        shown = limited(ordered, limit, categories, tactical)
        held = [one for one in held if not lines.get(one.tactic)]
        return shown, values, weights, sorted(held + lost, key=lambda h: (h.reason, h.tactic))

    def _line(self, name: str, situation: Situation, reading: _Reading, firings: Firings) -> Priced | None:
        """Return a line for a tactic that was played, with or without evidence, or None if it may not be shown."""
        if situation.moment not in SINCE_THE_FIRST_POINT:
            return None
        tactic = self.rulebook.tactics[name]
        if not_in_the_next_point(tactic, situation):
            return None
        if tactic.moments and situation.moment not in tactic.moments:
            return None
        if forbidden(tactic, firings, situation, self.rulebook, reading.view.health):
            return None
        return reading.prices.of(firings.by_tactic.get(tactic.id) or (Firing(tactic, 0, ()),))


def _in_the_way(situation: Situation, health: Health, safety: Iterable[Safety]) -> bool:
    in_pain = health.pain is not None and health.pain.stops
    return in_pain or withheld(situation) is not None or any(line.alone for line in safety)


def _plan(word: Verdict, why: str, reading: _Reading, shown: Sequence[Suggestion]) -> Plan:
    """Return the plan as it is shown. If the plan does not stay, `next` is the first suggestion about playing."""
    following = next((one.tactic for one in shown if one.worth is not None), None)
    following = None if word is Verdict.KEEP else following or next((one.tactic for one in shown), None)
    playing, told = reading.chosen, reading.told
    if playing is None or told is None:
        return Plan(word, why, next=following)
    return Plan(word, why, playing.tactic, playing.since, told.tried, told.won, following)


def _score(situation: Situation, reading: _Reading) -> str | None:
    if situation.score is None or (situation.moment is Moment.AFTER_MATCH and reading.state.winner is None):
        return None  # an abandoned match has no next point
    return score_line(reading.state, reading.point, reading.pricer.importance_in_match)
