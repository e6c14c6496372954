"""What was believed before the match and after it, and where the match surprised."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.scoring import State
from tacticapi.service.health import health_of


@dataclass(frozen=True, slots=True)
class BeliefMove:
    """A belief at the start and at the end of the match (0 to 1), with what moved it, strongest first, in words."""

    trait: str
    wing: Wing | None
    title: str
    start: float
    end: float
    because: tuple[str, ...]

    @property
    def move(self) -> float:
        """How far it moved, with its sign."""
        return self.end - self.start


def belief_moves(situation: Situation, state: State | None, rulebook: Rulebook) -> tuple[BeliefMove, ...]:
    """Every belief in vocabulary order; what is about health is left out."""
    health = health_of(rulebook)
    clean, model = health.situation(situation), EvidenceModel(rulebook)
    start = model.believe(replace(clean, moment=Moment.BEFORE_MATCH)).all
    end = model.believe(replace(clean, moment=Moment.AFTER_MATCH), state).all
    return tuple(
        BeliefMove(
            trait=last.trait,
            wing=last.wing,
            title=rulebook.traits[last.trait].title,
            start=first.probability,
            end=last.probability,
            because=tuple(part.text for part in last.contributions),
        )
        for first, last in zip(start, end, strict=True)
        if not health.moved(last)
    )


def surprises(moves: Sequence[BeliefMove], most: int) -> tuple[BeliefMove, ...]:
    """The beliefs that moved most, either way; those that did not move are none."""
    moved = [move for move in moves if round(move.move, 9) != 0.0]
    return tuple(sorted(moved, key=lambda m: (-round(abs(m.move), 9), m.trait, m.wing or ""))[:most])
