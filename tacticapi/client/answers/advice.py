"""What advice says. Where the event permits none now, all but safety and notice is None or empty."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tacticapi.client.answers.reading import Answer
from tacticapi.client.shown.as_html import advice_html
from tacticapi.client.shown.as_text import advice_text


@dataclass(frozen=True, kw_only=True)
class RulebookRef(Answer):
    """Exactly which rules answered."""

    version: str
    digest: str


@dataclass(frozen=True, kw_only=True)
class SourceLine(Answer):
    """Who says so. A citation backs a fact, never a threshold of ours."""

    status: str
    key: str | None
    citation: str | None
    backs: str | None


@dataclass(frozen=True, kw_only=True)
class Safety(Answer):
    """A safety line; it stands before tactics, and instead of them where `alone`."""

    tactic: str
    say: str
    why: str
    caution: str | None
    alone: bool
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, kw_only=True)
class Reason(Answer):
    """One reason in counts, with what was posted, in the way in which it was said."""

    text: str
    observation: int | None
    ref: str | None
    what: str
    count: float | None
    of: float | None
    counts: Mapping[str, Any] | None
    rating: float | None
    value: str | None
    amount: float | None
    seen: bool | None
    trait: str | None
    wing: str | None
    log_odds: float | None


@dataclass(frozen=True, kw_only=True)
class RestsOn(Answer):
    """A trait that a suggestion rests on."""

    trait: str
    wing: str | None
    probability: float
    read: str


@dataclass(frozen=True, kw_only=True)
class Gain(Answer):
    """What it is worth. The figures rest on model defaults of this service."""

    point: float
    match: float | None
    match_low: float | None
    match_high: float | None


@dataclass(frozen=True, kw_only=True)
class Target(Answer):
    """A serve target, computed from the receiver's hand and the court."""

    court: str
    spot: str
    wing: str


@dataclass(frozen=True, kw_only=True)
class CourtNote(Answer):
    """A figure about court and ball, by the general rule or, where `posted`, from what was posted."""

    figure: str
    text: str
    posted: bool


@dataclass(frozen=True, kw_only=True)
class Suggestion(Answer):
    """One line of advice with everything that belongs to it."""

    rank: int
    tactic: str
    category: str
    title: str
    say: str
    why: str
    because: tuple[Reason, ...]
    rests_on: tuple[RestsOn, ...]
    gain: Gain
    not_if: str
    stop_when: str
    risk: str
    caution: str | None
    targets: tuple[Target, ...]
    source: SourceLine
    sources: tuple[SourceLine, ...]
    coaches_differ: str | None
    court: CourtNote | None
    picture: str | None


@dataclass(frozen=True, kw_only=True)
class Look(Answer):
    """What to look for next."""

    what: str
    asks: str
    how: str
    worth: float
    trait: str | None
    wing: str | None


@dataclass(frozen=True, kw_only=True)
class HeldBack(Answer):
    """A tactic that matched and was set aside."""

    tactic: str
    reason: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Unused(Answer):
    """An accepted observation that moved nothing."""

    observation: int
    ref: str | None
    what: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Contribution(Answer):
    """What one kind of observation did to a belief."""

    text: str
    what: str
    observations: tuple[int, ...]
    phase: str
    chances: float
    log_odds: float


@dataclass(frozen=True, kw_only=True)
class Belief(Answer):
    """How likely a trait holds, and what moved it."""

    trait: str
    wing: str | None
    probability: float
    prior: float
    because: tuple[Contribution, ...]


@dataclass(frozen=True, kw_only=True)
class Changed(Answer):
    """What is not as it was at the advice before."""

    what: str
    text: str
    trait: str | None
    wing: str | None
    before: float | None
    after: float | None
    observations: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Advice(Answer):
    """Advice for a moment. Print it for a terminal; a notebook shows it as a page."""

    advice_id: str
    moment: str
    rulebook: RulebookRef
    safety: tuple[Safety, ...]
    plan: str | None
    plan_why: str | None
    score: str | None
    suggestions: tuple[Suggestion, ...]
    look_for: tuple[Look, ...]
    held_back: tuple[HeldBack, ...]
    unused: tuple[Unused, ...]
    beliefs: tuple[Belief, ...]
    notice: tuple[str, ...]
    changed: tuple[Changed, ...]

    def __str__(self) -> str:
        return advice_text(self)

    def _repr_html_(self) -> str:
        return advice_html(self)


@dataclass(frozen=True, kw_only=True)
class LiveAdvice(Advice):
    """Advice on a kept match."""

    match_id: str
    revision: int
    health_removed: bool


@dataclass(frozen=True, kw_only=True)
class GivenAdvice(LiveAdvice):
    """Advice as it was given, with all that it rested on."""

    given_at: datetime
    situation: Mapping[str, Any] | None
    fired: tuple[Mapping[str, Any], ...]


@dataclass(frozen=True, kw_only=True)
class AdviceLine(Answer):
    """That advice was given; what it said stands at its own address."""

    match_id: str
    revision: int
    health_removed: bool
    advice_id: str
    moment: str
    rulebook: RulebookRef
    given_at: datetime


@dataclass(frozen=True, kw_only=True)
class Fact(Answer):
    """One fact that the rules were matched against."""

    id: str
    kind: str
    name: str
    fields: Mapping[str, Any]
    observations: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Fired(Answer):
    """A rule that fired."""

    rule: str
    facts: tuple[str, ...]
    derives: str | None


@dataclass(frozen=True, kw_only=True)
class Why(Answer):
    """Why a tactic was suggested, or why not."""

    tactic: str
    verdict: str
    why: str
    unmet: tuple[str, ...]
    chain: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Explanation(Advice):
    """The advice and everything behind it."""

    engine: str
    facts: tuple[Fact, ...]
    fired: tuple[Fired, ...]
    why: tuple[Why, ...]
