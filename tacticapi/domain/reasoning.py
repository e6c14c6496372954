"""What passes between the steps from a situation to its advice: beliefs, facts, the tactics that fire, their worth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Annotated, NamedTuple

from tacticapi.domain import Chance, Indexes, Seen, many
from tacticapi.domain.rules import Condition, FactKind, Tactic
from tacticapi.domain.situation import Phase, Wing

WINGS: Mapping[int | str, Wing] = {wing.value: wing for wing in Wing}
OfWing = Annotated[Wing | None, "The wing; absent if the trait has none."]


@many
class Contribution:
    """The effect of one kind of observation on a belief."""

    log_odds: Annotated[Seen, "What it added to the log-odds."]  # what leaving it out would take away
    what: Annotated[str, "Id of the vocabulary."]
    phase: Annotated[Phase, "When it was seen."]
    chances: Annotated[Seen, "How many chances were seen."]
    observations: Annotated[Indexes, "The observations behind it; none for a profile item."]
    text: Annotated[str, "It in counts."]


@many
class Belief:
    """The probability of a trait, and what moved it."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    prior: Annotated[Chance, "How likely it was before anything was seen."]
    probability: Annotated[Chance, "How likely it is true."]
    contributions: tuple[Contribution, ...] = ()  # strongest first

    @property
    def chances(self) -> float:
        """Return all chances seen, over its contributions."""
        return sum(c.chances for c in self.contributions)


@many
class Estimate:
    """What is known of one quality of a player, as a share, 0 to 1, of the kind of count that shows it best."""

    quality: Annotated[str, "Id of the quality."]
    player: Annotated[str, ("own", "opponent"), "Whose it is."]
    wing: OfWing
    what: Annotated[str, "Id of the kind of count that shows it."]
    says: Annotated[str, "What the share counts."]
    usual: Annotated[Chance, "The share of the usual player of the level."]
    estimate: Annotated[Chance, "The share of this player, by all that was seen."]
    low: Annotated[Chance, "8 in 10 such players have a share from here,"]
    high: Annotated[Chance, "to here."]
    hits: float  # counted, of `chances`
    chances: float


def belief_name(trait: str, wing: str | None) -> str:
    """Return the name of a belief in requests and in what is kept: the trait, and its wing after a stroke."""
    return f"{trait}/{wing}" if wing else trait


class Fact(NamedTuple):
    """One small flat fact of our own making; `observations`, places in the posted list, never enter the matcher."""

    id: Annotated[str, "Its id within this answer."]
    kind: Annotated[FactKind, "Its subject."]
    name: Annotated[str, "Its name."]
    fields: Annotated[
        Mapping[str, int | str], "Whole numbers and words; probabilities and shares are in thousandths."
    ] = MappingProxyType({})
    observations: Annotated[Indexes, "The observations that it rests on."] = ()


@dataclass(frozen=True, slots=True)
class MatchRule:
    """One rule of the matcher: a conjunction; `derives` names the circumstance that it proves, if any."""

    id: str
    conditions: tuple[Condition, ...]
    derives: str | None = None


class RuleMatch(NamedTuple):
    """A rule that fired and the ids of the facts that it matched, in the order of its conditions."""

    rule: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Inference:
    """All matches of one situation, the facts by id, the engine that answered, and the failure of the other."""

    matches: tuple[RuleMatch, ...]
    facts: Mapping[str, Fact]
    engine: str
    failure: str | None = None


@dataclass(slots=True)  # not frozen, as `many`
class Firing:
    """A tactic one of whose alternatives matched, and the facts that it matched."""

    tactic: Tactic
    alternative: int
    facts: tuple[Fact, ...]
    beliefs: tuple[Fact, ...] = field(init=False)
    wing: Wing | None = field(init=False)

    def __post_init__(self) -> None:
        """Find the beliefs, and the wing of the first fact that has one, once: they are asked for again and again."""
        beliefs, wing = [], None
        for fact in self.facts:
            if fact.kind is FactKind.BELIEF:
                beliefs.append(fact)
            wing = wing or fact.fields.get("wing")
        self.beliefs, self.wing = tuple(beliefs), WINGS[wing] if wing else None


@dataclass(frozen=True, slots=True)
class Firings:
    """All firings by tactic, and the counter-indications (by their place in the tactic) that hold.

    `playable` are the tactics of which all but the beliefs holds, each with the number of an alternative.
    """

    by_tactic: Mapping[str, tuple[Firing, ...]]
    counters: Mapping[str, tuple[int, ...]]
    playable: Sequence[tuple[str, int]] = ()


@many
class Priced:
    """A firing with its price in points over all points, zero for a tactic that sends no ball.

    `learned` is the gain after its tries; `read` what the opponent's profile adds to a tried point, gained by chance
    `reads`; `place` its row of the price book.
    """

    firing: Firing
    point: float = 0.0
    spread: float = 0.0
    learned: float = 0.0
    pays_in: float = 1.0
    read: float = 0.0
    place: int | None = None
    reads: float = 1.0
