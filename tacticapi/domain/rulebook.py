"""The rulebook as the service holds it: read once, never changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tacticapi.domain.place import Place
from tacticapi.domain.profile import Quality
from tacticapi.domain.tactic import Circumstance, Tactic
from tacticapi.domain.terms import Moment
from tacticapi.domain.trait import Trait
from tacticapi.domain.vocabulary import ObservationKind


@dataclass(frozen=True, slots=True)
class Source:
    """A publication that tactics may cite. `status` says how its content is known."""

    key: str
    citation: str
    backs: str
    status: str


@dataclass(frozen=True, slots=True)
class Category:
    """A group of tactics. `tactical` is False for what is no tactic (physical care, law)."""

    id: str
    title: str
    tactical: bool
    authority: int


@dataclass(frozen=True, slots=True)
class MomentRule:
    """What a moment may show: at most `limit` suggestions, and reminders of these categories only.

    `only_categories` narrows everything, not just reminders.
    """

    moment: Moment
    limit: int
    reminders: tuple[str, ...]
    only_categories: bool = False


@dataclass(frozen=True, slots=True)
class DangerSign:
    """A sign at which play stops. Whoever had one `for_the_match` does not play on in that match."""

    id: str
    words: tuple[str, ...]
    for_the_match: bool = False


@dataclass(frozen=True, slots=True)
class DangerWords:
    """The danger signs and the words for them and for pain, as rules/danger-signs.yaml writes them."""

    window: int
    negators: frozenset[str]
    harmless: tuple[str, ...]
    signs: tuple[DangerSign, ...]
    pain_sites: Mapping[str, str]
    hurts: str
    clear: str
    fine: str
    not_pain: tuple[str, ...]


NO_WORDS = DangerWords(2, frozenset(), (), (), {}, "pain", "clear", "fine", ())


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All knowledge, in vocabulary order, with the digest of exactly these rules."""

    version: str
    digest: str
    defaults: Mapping[str, Any]
    sources: Mapping[str, Source]
    kinds: Mapping[str, ObservationKind]
    qualities: Mapping[str, Quality]
    traits: Mapping[str, Trait]
    categories: Mapping[str, Category]
    moments: Mapping[Moment, MomentRule]
    circumstances: Mapping[str, Circumstance]
    tactics: Mapping[str, Tactic]
    places: Mapping[str, Place] = field(default_factory=dict)
    figures: Mapping[str, str] = field(default_factory=dict)
    danger: DangerWords = NO_WORDS
