"""The serve mix for each side of the court, with everything an answer about it needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from tacticapi.games.best_mix import MixAdvice, best_mix
from tacticapi.games.counts import MixModel, SpotCounts
from tacticapi.games.mix_notes import Server, mix_notes
from tacticapi.games.order import next_ten, whole_serves
from tacticapi.games.predictability import Verdict, judge_by_score, judge_sequence
from tacticapi.games.streaks import ShareAfter, share_after

_UNMIXED: Final = 0.05  # a spot that the mix leaves out is still expected now and then


@dataclass(frozen=True, slots=True)
class Served:
    """One serve of a sequence: its spot and, where noted, a tag for the score it was served at."""

    spot: str
    score: str | None = None


@dataclass(frozen=True, slots=True)
class CourtServes:
    """What was counted on one side of the court (deuce or ad), and the serves in the order played, if noted."""

    court: str
    counts: SpotCounts
    sequence: tuple[Served, ...] = ()


@dataclass(frozen=True, slots=True)
class CourtMix:
    """The answer for one side of the court.

    `tenths` are serves out of ten by spot, `order` the next ten of them. `verdict` says whether the serves played give
    the server away, measured against the mix; `by_score` looks for a favourite at each score tag, `after` says how
    often each spot followed itself. These three are None or empty without a sequence. `notes` are plain sentences.
    """

    court: str
    advice: MixAdvice
    tenths: dict[str, int]
    order: tuple[str, ...]
    verdict: Verdict | None
    by_score: dict[str, Verdict]
    after: tuple[ShareAfter, ...]
    notes: tuple[str, ...]


def serve_mix(
    courts: Sequence[CourtServes], model: MixModel, seed: int | None = None, server: Server = "own"
) -> tuple[CourtMix, ...]:
    """The mix, its order and what past serves gave away, for each side of the court in the order given.

    `seed` fixes the order of the next serves, a different one for each court; None draws it from the operating system.
    The mix and its percentiles never depend on it. `server` says whose serves were counted; only notes depend on it.
    Raises ValueError for a court given twice and for spots in a sequence that are not among the counts' spots.
    """
    if len({one.court for one in courts}) < len(courts):
        raise ValueError(f"courts {[one.court for one in courts]}: expected each once")
    return tuple(_court_mix(one, model, seed, server) for one in courts)


def _court_mix(one: CourtServes, model: MixModel, seed: int | None, server: Server) -> CourtMix:
    advice = best_mix(one.counts, model)
    order = next_ten(advice.mix, None if seed is None else f"{seed} {one.court}")
    spots = [serve.spot for serve in one.sequence]
    expected = _expected(advice.mix)
    verdict = judge_sequence(spots, expected) if spots else None
    return CourtMix(
        one.court,
        advice,
        whole_serves(advice.mix),
        tuple(order),
        verdict,
        judge_by_score(spots, [serve.score for serve in one.sequence], expected),
        tuple(share_after(spots, spot) for spot in one.counts.spots) if spots else (),
        mix_notes(advice, one.counts, model.least_share, verdict, server),
    )


def _expected(mix: dict[str, float]) -> dict[str, float]:
    raised = {spot: max(share, _UNMIXED) for spot, share in mix.items()}
    total = sum(raised.values())
    return {spot: share / total for spot, share in raised.items()}
