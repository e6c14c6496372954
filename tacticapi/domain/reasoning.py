"""Define the steps between a situation and its advice: beliefs, facts, the tactics that fire, and their prices."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Annotated, NamedTuple

from tacticapi.domain import Chance, Indexes, Seen, many
from tacticapi.domain.rules import Condition, FactKind, Tactic
from tacticapi.domain.situation import Phase, Wing

WINGS: Mapping[int | str, Wing] = {wing.value: wing for wing in Wing}
OfWing = Annotated[Wing | None, "The wing; absent if the trait has no wings."]


@many
class Contribution:
    """How one kind of observation affects a belief."""

    log_odds: Annotated[Seen, "The change in log-odds."]  # what omitting it would remove
    what: Annotated[str, "Vocabulary id."]
    phase: Annotated[Phase, "The phase in which it was seen."]
    chances: Annotated[Seen, "The number of chances seen."]
    observations: Annotated[Indexes, "The observations behind the contribution; empty for a profile item."]
    text: Annotated[str, "The evidence in counts."]


@many
class Belief:
    """A trait's probability, and the evidence that changed it."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    prior: Annotated[Chance, "The probability before anything was seen."]
    probability: Annotated[Chance, "The probability that the trait is true."]
    contributions: tuple[Contribution, ...] = ()  # strongest first

    @property
    def chances(self) -> float:
        """Return the total number of chances seen."""
        return sum(c.chances for c in self.contributions)


@many
class Estimate:
    """An estimate of one of a player's qualities, as a share (0 to 1) in the kind of count that shows it best."""

    quality: Annotated[str, "Id of the quality."]
    player: Annotated[str, ("own", "opponent"), "The player whose quality it is."]
    wing: OfWing
    what: Annotated[str, "Id of the observation kind that shows the quality best."]
    says: Annotated[str, "What the share counts."]
    usual: Annotated[Chance, "The usual share at the player's level."]
    estimate: Annotated[Chance, "This player's share, given everything seen."]
    low: Annotated[Chance, "Lower end of the range that covers 8 in 10 such players."]
    high: Annotated[Chance, "Upper end of the range that covers 8 in 10 such players."]
    hits: float  # counted, of `chances`
    chances: float


def belief_name(trait: str, wing: str | None) -> str:
    """Return a belief's name in requests and in storage: `trait`, or `trait/wing` if it has a wing."""
    return f"{trait}/{wing}" if wing else trait


class Fact(NamedTuple):
    """One small flat fact; `observations` are indexes into the posted list and never enter the matcher."""

    id: Annotated[str, "The fact's id within this response."]
    kind: Annotated[FactKind, "The fact's subject."]
    name: Annotated[str, "The fact's name."]
    fields: Annotated[
        Mapping[str, int | str], "Whole numbers and words; probabilities and shares are in thousandths."
    ] = MappingProxyType({})
    observations: Annotated[Indexes, "The observations that the fact is based on."] = ()


@dataclass(frozen=True, slots=True)
class MatchRule:
    """One conjunction for the matcher; `derives` names the circumstance that it proves, if any."""

    id: str
    conditions: tuple[Condition, ...]
    derives: str | None = None


class RuleMatch(NamedTuple):
    """A rule that fired, and the ids of the facts that it matched, in the order of its conditions."""

    rule: str
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Inference:
    """All matches for one situation, the facts by id, the engine that was used, and why the other one failed."""

    matches: tuple[RuleMatch, ...]
    facts: Mapping[str, Fact]
    engine: str
    failure: str | None = None


@dataclass(slots=True)  # not frozen, like `many`
class Firing:
    """A tactic, the alternative that matched, and the facts that it matched."""

    tactic: Tactic
    alternative: int
    facts: tuple[Fact, ...]
    beliefs: tuple[Fact, ...] = field(init=False)
    wing: Wing | None = field(init=False)

    def __post_init__(self) -> None:
        beliefs, wing = [], None
        for fact in self.facts:
            if fact.kind is FactKind.BELIEF:
                beliefs.append(fact)
            wing = wing or fact.fields.get("wing")
        self.beliefs, self.wing = tuple(beliefs), WINGS[wing] if wing else None


@dataclass(frozen=True, slots=True)
class Firings:
    """All firings by tactic, and the counter-indications that apply, by their index in the tactic.

    `playable` lists each tactic and alternative whose conditions hold, not counting beliefs.
    """

    by_tactic: Mapping[str, tuple[Firing, ...]]
    counters: Mapping[str, tuple[int, ...]]
    playable: Sequence[tuple[str, int]] = ()


@many
class Priced:
    """A firing with its price in points, averaged over all points; zero for a tactic that sends no ball.

    `learned` is the gain after its tries. `read` is what the opponent's profile adds per tried point, and `reads` the
    probability that this is a gain. `place` is its row in the price book.
    """

    firing: Firing
    point: float = 0.0
    spread: float = 0.0
    learned: float = 0.0
    pays_in: float = 1.0
    read: float = 0.0
    place: int | None = None
    reads: float = 1.0
