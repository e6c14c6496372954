"""Priced tactics of our own, and the short road from a request to advice."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Firing, Priced
from tacticapi.domain.rules import Alternative, Effect, Gate, Relation, RelationKind, Tactic, Touches
from tacticapi.domain.situation import Show, Situation


@pytest.fixture(scope="session")
def advise(adviser: Adviser, situation: Callable[..., Situation]) -> Callable[..., Advice]:
    """The advice for a request: advise(moment=..., observations=[...])."""

    def ask(**wire: Any) -> Advice:
        return adviser.recommend(situation(**wire))

    return ask


@pytest.fixture(scope="session")
def tactic() -> Callable[..., Tactic]:
    """A tactic of ours: tactic("a", conflicts="b") or with fields of Tactic."""

    def make(id: str, *, needs: tuple[Gate, ...] = (), **fields: Any) -> Tactic:
        relations = tuple(
            Relation(kind, fields.pop(kind.name.lower()), settled=f"as {id} says")
            for kind in RelationKind
            if kind.name.lower() in fields
        )
        plain: dict[str, Any] = {
            "category": "rally",
            "show": Show.GAIN,
            "authority": 4,
            "effect": Effect(Touches.BOTH, 0.3, 0.02, 0.01),
        }
        return Tactic(
            id=id,
            title=id,
            say=id,
            why="it pays",
            when=(Alternative(()),),
            needs=needs,
            unless=(),
            not_if="never",
            stop_when="look again",
            risk="low",
            relations=relations,
            **{**plain, **fields},
        )

    return make


@pytest.fixture(scope="session")
def priced(tactic: Callable[..., Tactic]) -> Callable[..., Priced]:
    """A priced tactic: priced("a", serve=0.01, return_=0.0, family="f", show=..., authority=...)."""

    def make(id: str, serve: float = 0.01, return_: float = 0.01, family: str | None = None, **fields: Any) -> Priced:
        firing = Firing(tactic(id, **fields), 0, ())
        point = (serve + return_) / 2
        return Priced(firing, 0.6, point, point, serve, return_, 0.02, -0.01, family or id)

    return make
