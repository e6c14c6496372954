"""The rulebook as data."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.client.answers.advice import RulebookRef, SourceLine
from tacticapi.client.answers.reading import Answer


@dataclass(frozen=True, kw_only=True)
class Kind(Answer):
    """One thing that can be seen."""

    id: str
    subject: str
    post_in: str
    title: str
    asks: str
    says: str
    ways: tuple[str, ...]
    phases: tuple[str, ...]
    options: tuple[str, ...]
    unit: str | None
    low: float | None
    high: float | None
    qualifiers: Mapping[str, Any]
    trap: str | None
    probe: str | None
    starter: int | None
    needs_end: bool
    health: bool
    ages: bool


@dataclass(frozen=True, kw_only=True)
class Evidence(Answer):
    """One kind of observation that speaks for or against a trait."""

    what: str
    form: str
    word: str
    wing: str | None
    serve: str | None
    court: str | None
    moves: str | None


@dataclass(frozen=True, kw_only=True)
class Trait(Answer):
    """One thing that may be true of an opponent."""

    id: str
    title: str
    means: str
    wing: str
    prior: float
    excludes: str | None
    not_from: str | None
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, kw_only=True)
class Alternative(Answer):
    """Conditions that must all hold."""

    all: tuple[str, ...]
    scale: float
    say: str | None


@dataclass(frozen=True, kw_only=True)
class Gate(Answer):
    """An own ability that the tactic needs."""

    any_of: tuple[str, ...]
    at_least: int


@dataclass(frozen=True, kw_only=True)
class Counter(Answer):
    """A counter-indication that the service checks itself."""

    all: tuple[str, ...]
    why: str


@dataclass(frozen=True, kw_only=True)
class Effect(Answer):
    """What it is taken to be worth; model defaults."""

    on: str
    share: float
    gain: float
    loss: float
    cause: str
    note: str


@dataclass(frozen=True, kw_only=True)
class Relation(Answer):
    """A tie to another tactic."""

    kind: str
    to: str
    settled: str | None


@dataclass(frozen=True, kw_only=True)
class Tactic(Answer):
    """One tactic."""

    id: str
    category: str
    title: str
    say: str
    why: str
    when: tuple[Alternative, ...]
    needs: tuple[Gate, ...]
    unless: tuple[Counter, ...]
    not_if: str
    stop_when: str
    show: str
    risk: str
    effect: Effect
    authority: int
    relations: tuple[Relation, ...]
    sources: tuple[SourceLine, ...]
    caution: str | None
    moments: tuple[str, ...]
    targets: str | None
    alone: bool
    coaches_differ: str | None
    deprecated: str | None
    house: bool


@dataclass(frozen=True, kw_only=True)
class Source(Answer):
    """A publication that tactics cite."""

    key: str
    citation: str
    backs: str
    status: str


@dataclass(frozen=True, kw_only=True)
class Counts(Answer):
    """How many there are of each."""

    kinds: int
    traits: int
    tactics: int
    circumstances: int
    sources: int


@dataclass(frozen=True, kw_only=True)
class Category(Answer):
    """A group of tactics."""

    id: str
    title: str
    tactical: bool
    tactics: int


@dataclass(frozen=True, kw_only=True)
class Moment(Answer):
    """What a moment may show."""

    moment: str
    limit: int
    reminders: tuple[str, ...]
    only_categories: bool


@dataclass(frozen=True, kw_only=True)
class Rulebook(Answer):
    """Which rules answer here."""

    version: str
    digest: str
    counts: Counts
    categories: tuple[Category, ...]
    moments: tuple[Moment, ...]
    defaults: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class Ready(Answer):
    """The service can advise."""

    status: str
    rulebook: RulebookRef
    engine: str
    database: str | None
    warnings: tuple[str, ...]
