"""Priced firings of a tactic of ours, and the prices of the rulebook against any two players."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tacticapi.domain.reasoning import Firing, Priced
from tacticapi.domain.rules import USUAL_LEVEL, Level, Price, Rulebook, Touches
from tacticapi.domain.situation import Moment, Situation
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.gaussian import Array
from tacticapi.evidence.profile import Fit
from tacticapi.pricing.baseline import baseline
from tacticapi.pricing.price import PriceBook, Prices

from ...builders import plain_tactic

MakePriced = Callable[..., Priced]
PricesOf = Callable[..., Prices]


@pytest.fixture(scope="session")
def priced() -> MakePriced:
    """A gain over all points as a price would state it: priced(Touches.SERVE, 0.01, spread=0.004)."""

    def make(points: Touches, point: float, spread: float = 0.0) -> Priced:
        firing = Firing(plain_tactic("some-tactic", price=Price(points, 0.5)), 0, ())
        return Priced(firing, point, spread, point, 0.9, point, 0)

    return make


@pytest.fixture(scope="session")
def book(rulebook: Rulebook, evidence: EvidenceModel) -> PriceBook:
    return PriceBook(rulebook, evidence.profiles)


@pytest.fixture(scope="session")
def prices_of(rulebook: Rulebook, evidence: EvidenceModel) -> PricesOf:
    """The prices of a book against two players, who are the usual ones of the level unless told where they stand.

    `opponent` and `own` are latent values, in standard deviations.
    """

    def ask(
        book: PriceBook,
        *,
        level: Level = USUAL_LEVEL,
        opponent: Array | None = None,
        own: Array | None = None,
        lead: tuple[float, float] = (0.0, 0.0),
        situation: Situation | None = None,
        **ratings: Any,
    ) -> Prices:
        of_level = {"level": level.value}
        asked = situation or Situation(Moment.CHANGE_OF_ENDS, own={**of_level, **ratings}, opponent=of_level)
        beliefs = evidence.believe(asked)
        nobody = np.zeros(len(beliefs.opponent.latent.dims))
        if situation is None:
            theirs = Fit(beliefs.opponent.latent, (), None, nobody if opponent is None else opponent)
            beliefs = replace(beliefs, opponent=theirs, spot_lead=lead)
        if own is not None:
            beliefs = replace(beliefs, own=Fit(beliefs.own.latent, (), None, own))
        return Prices(book, beliefs, asked, baseline(asked, rulebook.defaults))

    return ask
