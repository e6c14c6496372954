"""What is believed of the opponent, and what moved each belief."""

from dataclasses import dataclass

from tacticapi.domain.terms import Phase, Wing


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one kind of observation did to a belief.

    `log_odds` is what it added after family weights; `observations` are the places in the posted list;
    `chances` is how many chances were seen; `text` says it in counts. `what` may be a profile key such as
    opponent.backhand_type, then `observations` is empty.
    """

    what: str
    phase: Phase
    log_odds: float
    chances: float
    observations: tuple[int, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Belief:
    """The probability (0 to 1) that a trait holds, with its prior and its contributions, strongest first."""

    trait: str
    wing: Wing | None
    prior: float
    probability: float
    contributions: tuple[Contribution, ...] = ()

    @property
    def chances(self) -> float:
        """Chances seen in all, over its contributions."""
        return sum(c.chances for c in self.contributions)


def belief_name(trait: str, wing: str | None) -> str:
    """The name of a belief in requests and in what is kept: the trait, and its wing after a stroke."""
    return f"{trait}/{wing}" if wing else trait
