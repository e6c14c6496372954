"""Tactics with one effect, and firings of them."""

from collections.abc import Callable, Sequence

import pytest

from tacticapi.domain.reasoning import Fact, Firing
from tacticapi.domain.rules import Alternative, Effect, FactKind, Gate, Tactic, Touches
from tacticapi.domain.situation import Show

Fire = Callable[..., Firing]


@pytest.fixture(scope="session")
def fire() -> Fire:
    """One firing: fire(Effect(...), beliefs=[650], needs=[...], scales=[1.0], alternative=0)."""

    def make(
        effect: Effect,
        *,
        beliefs: Sequence[int] = (),
        needs: Sequence[Gate] = (),
        scales: Sequence[float] = (1.0,),
        alternative: int = 0,
    ) -> Firing:
        tactic = Tactic(
            id="some-tactic",
            category="rally",
            title="Some tactic",
            say="Do it.",
            why="It pays.",
            when=tuple(Alternative((), scale=scale) for scale in scales),
            needs=tuple(needs),
            unless=(),
            not_if="",
            stop_when="",
            show=Show.GAIN,
            risk="low",
            effect=effect,
            authority=4,
        )
        facts = tuple(
            Fact(f"belief:t{place}", FactKind.BELIEF, f"t{place}", {"permille": permille})
            for place, permille in enumerate(beliefs)
        )
        return Firing(tactic, alternative, facts)

    return make


@pytest.fixture
def serve_effect() -> Effect:
    return Effect(Touches.SERVE, share=0.6, gain=0.03, loss=0.015)
