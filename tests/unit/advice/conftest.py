"""Priced tactics of our own, and the short road from a request to advice."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Firing, Priced
from tacticapi.domain.rules import Price, Relation, RelationKind, Tactic, Touches
from tacticapi.domain.situation import Show, Situation

from ...builders import plain_tactic


@pytest.fixture(scope="session")
def advise(adviser: Adviser, situation: Callable[..., Situation]) -> Callable[..., Advice]:
    """The advice for a request: advise(moment=..., observations=[...])."""

    def ask(**wire: Any) -> Advice:
        return adviser.recommend(situation(**wire))

    return ask


@pytest.fixture(scope="session")
def tactic() -> Callable[..., Tactic]:
    """A tactic of ours: tactic("a", conflicts="b") or with fields of Tactic; it has a price if it is shown for it."""

    def make(id: str, **fields: Any) -> Tactic:
        named = [kind for kind in RelationKind if kind.name.lower() in fields]
        relations = tuple(Relation(kind, fields.pop(kind.name.lower()), settled=f"as {id} says") for kind in named)
        price = Price(Touches.BOTH, 0.3, gives={"leans": 0.3}) if fields.get("show", Show.GAIN) is Show.GAIN else None
        return plain_tactic(id, **{"price": price, "relations": relations, **fields})

    return make


@pytest.fixture(scope="session")
def priced(tactic: Callable[..., Tactic]) -> Callable[..., Priced]:
    """A priced tactic, or a line without a price: priced("a", 0.01, pays_in=0.9, read=0.02, show=...)."""

    def make(
        id: str, point: float = 0.01, *, pays_in: float = 0.9, read: float = 0.02, reads: float = 0.9, **fields: Any
    ) -> Priced:
        firing = Firing(tactic(id, **fields), 0, ())
        if firing.tactic.price is None:
            return Priced(firing)
        return Priced(firing, point, 0.005, point, pays_in, read, 0, reads)

    return make
