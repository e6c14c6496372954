"""Small rulebooks for the matcher's tests."""

from collections.abc import Callable, Mapping, Sequence

import pytest

from tacticapi.domain.rules import (
    Alternative,
    Circumstance,
    Condition,
    Counter,
    Effect,
    ObservationKind,
    Rulebook,
    Tactic,
    Touches,
    Trait,
    WingRule,
)
from tacticapi.domain.situation import Phase, Show, Way

Conditions = tuple[Condition, ...]
MakeTactic = Callable[..., Tactic]
MakeRulebook = Callable[..., Rulebook]


@pytest.fixture
def make_tactic() -> MakeTactic:
    def make(id: str, *when: Conditions, unless: Sequence[Conditions] = ()) -> Tactic:
        return Tactic(
            id=id,
            category="rally",
            title=id,
            say=id,
            why="it pays",
            when=tuple(Alternative(conditions) for conditions in when),
            needs=(),
            unless=tuple(Counter(conditions, "not now") for conditions in unless),
            not_if="never",
            stop_when="look again after six",
            show=Show.GAIN,
            risk="low",
            effect=Effect(Touches.BOTH, 0.3, 0.03, 0.02),
            authority=4,
        )

    return make


@pytest.fixture
def make_rulebook() -> MakeRulebook:
    """A rulebook of these tactics and derived circumstances, with a small vocabulary."""

    def make(
        tactics: Sequence[Tactic] = (), circumstances: Mapping[str, Sequence[Conditions]] | None = None
    ) -> Rulebook:
        kinds = (
            ObservationKind("own.handedness", "h", "?", "h", (Way.VALUE,), (Phase.BEFORE,), ("right", "left")),
            ObservationKind("own.kick", "k", "?", "k", (Way.RATING,), (Phase.BEFORE,)),
            ObservationKind("context.heat", "c", "?", "c", (Way.AMOUNT,), (Phase.BEFORE,), low=-20, high=60, unit="°C"),
            ObservationKind("context.indoor", "i", "?", "i", (Way.SEEN,), (Phase.BEFORE,)),
            ObservationKind(
                "rally.low_ball", "l", "?", "l", (Way.COUNT,), (Phase.GAMES,), qualifiers={"wing": "optional"}
            ),
            ObservationKind("serve.spots", "s", "?", "s", (Way.COUNTS,), (Phase.GAMES,), ("wide", "body", "T")),
        )
        traits = (
            Trait("weak_low_ball", "w", "w", WingRule.EACH, 0.4, ()),
            Trait("hides_backhand", "h", "h", WingRule.BACKHAND, 0.3, ()),
            Trait("tires", "t", "t", WingRule.NONE, 0.3, ()),
        )
        return Rulebook(
            version="1",
            digest="0",
            defaults={},
            sources={},
            kinds={kind.id: kind for kind in kinds},
            traits={trait.id: trait for trait in traits},
            categories={},
            moments={},
            circumstances={
                "break-point-for": Circumstance("break-point-for", "computed"),
                **{id: Circumstance(id, id, tuple(when)) for id, when in (circumstances or {}).items()},
            },
            tactics={tactic.id: tactic for tactic in tactics},
        )

    return make
