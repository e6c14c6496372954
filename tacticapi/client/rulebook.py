"""The rulebook as data: what can be posted, what is believed from it, and what is suggested."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.client.advice import RulebookRef, SourceLine
from tacticapi.client.calls import Answer, Calls, Picture, read


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

    applies_to: str
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


class Lookups:
    """What may be read without a club. Lists are fetched page by page as they are needed."""

    _calls: Calls

    def vocabulary(self, *, subject: str | None = None, phase: str | None = None) -> Iterator[Kind]:
        """Every kind of observation: its question, how it is said, and the trap in it."""
        query = {"subject": subject, "phase": phase}
        return (read(Kind, item) for item in self._calls.pages("/v1/vocabulary", query))

    def traits(self) -> Iterator[Trait]:
        """Every trait that an opponent is believed to have or not, with what moves the belief."""
        return (read(Trait, item) for item in self._calls.pages("/v1/traits"))

    def tactics(
        self, *, category: str | None = None, status: str | None = None, risk: str | None = None
    ) -> Iterator[Tactic]:
        """Every tactic with its conditions and sources."""
        query = {"category": category, "status": status, "risk": risk}
        return (read(Tactic, item) for item in self._calls.pages("/v1/tactics", query))

    def tactic(self, tactic: str) -> Tactic:
        """One tactic by its id. Raises NotFound."""
        return read(Tactic, self._calls.read(f"/v1/tactics/{tactic}"))

    def tactic_picture(self, tactic: str) -> Picture:
        """The place of a tactic on the court. Raises NotFound where it has none."""
        return Picture(self._calls.text(f"/v1/tactics/{tactic}/picture", accept="image/svg+xml"))

    def sources(self) -> Iterator[Source]:
        """Every publication that a fact of the rules rests on."""
        return (read(Source, item) for item in self._calls.pages("/v1/sources"))

    def rulebook(self) -> Rulebook:
        """Version, counts, categories, limits by moment, and every default."""
        return read(Rulebook, self._calls.read("/v1/rulebook"))

    def ready(self) -> Ready:
        """Whether the service can advise, and by which rules. Raises Unavailable where it cannot."""
        return read(Ready, self._calls.read("/readyz"))
