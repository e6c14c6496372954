"""The serve mix for each side of the court, how sure it is, and the next serves in an order nobody can guess."""

from __future__ import annotations

import random
import secrets
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from tacticapi.games.best_mix import MixAdvice, MixModel, SpotCounts, best_mix
from tacticapi.games.predictability import ShareAfter, Verdict, judge_by_score, judge_sequence, share_after

Server = Literal["own", "opponent"]

_WIDE: Final = 0.4  # a best share that may lie anywhere in so wide a range is not known yet
_UNMIXED: Final = 0.05  # a spot that the mix leaves out is still expected now and then


def whole_serves(mix: Mapping[str, float], n: int = 10) -> dict[str, int]:
    """Split n serves over the spots by largest remainder (the earlier spot on equal remainders).

    `mix` holds shares of 0 or more that sum to 1, else ValueError.
    """
    if n < 0 or not mix or min(mix.values()) < 0 or abs(sum(mix.values()) - 1.0) > 1e-6:
        raise ValueError(f"{dict(mix)} over {n} serves: expected shares of 0 or more that sum to 1, and n of 0 or more")
    # shares that differ only by rounding errors are equal, or a tie would fall to noise
    exact = {spot: round(n * share, 9) for spot, share in mix.items()}
    whole = {spot: int(serves) for spot, serves in exact.items()}
    by_remainder = sorted(exact, key=lambda spot: whole[spot] - exact[spot])
    for spot in by_remainder[: n - sum(whole.values())]:
        whole[spot] += 1
    return whole


def next_ten(mix: Mapping[str, float], seed: int | str | None = None, n: int = 10) -> list[str]:
    """The spots of the next n serves, each as often as `whole_serves` says, shuffled.

    With a seed the order is the same every time; without one it comes from the operating system's randomness. Whoever
    counts along knows the last spot of such a list, so a new one should be drawn before the old one runs out.
    """
    order = [spot for spot, serves in whole_serves(mix, n).items() for _ in range(serves)]
    dice = secrets.SystemRandom() if seed is None else random.Random(seed)
    dice.shuffle(order)
    return order


def mix_notes(
    advice: MixAdvice, counts: SpotCounts, least_share: float, verdict: Verdict | None, server: Server
) -> tuple[str, ...]:
    """The notes of one side of the court, most important first; `server` says whose serves they are."""
    return (*_on_evidence(advice, counts), *_on_shares(advice, least_share), *_on_sequence(verdict, server))


def _on_evidence(advice: MixAdvice, counts: SpotCounts) -> Iterator[str]:
    served = sum(counts.served)
    if not served:
        yield "No serves counted: the mix rests on model defaults alone."
    elif unsure := [spot.spot for spot in advice.spots if spot.high - spot.low >= _WIDE]:
        yield f"{served:g} serves counted: the best share of {', '.join(unsure)} is still open. Keep counting."
    if counts.leaned:
        yield f"{counts.leaned:g} leanings counted: weight {advice.trust:.2f} on the receiver keeping to them."
    else:
        yield "No leanings counted: the receiver is taken to lean wherever hurts the mix most."


def _on_shares(advice: MixAdvice, least_share: float) -> Iterator[str]:
    least = [spot.spot for spot in advice.spots if spot.concedes > 0.0 and spot.share <= least_share + 1e-9]
    if least_share > 0.0 and least:
        yield f"{', '.join(least)}: kept in the mix so that the receiver has to cover every spot."


def _on_sequence(verdict: Verdict | None, server: Server) -> Iterator[str]:
    if verdict is None:
        yield "No sequence of serves given: whether a pattern gives the server away was not looked at."
        return
    served, needed, switching = verdict.served, verdict.needed, verdict.needed_for_switching
    if verdict.kind == "too-few":
        yield f"{served} serves in order: fewer than {needed} cannot show a pattern of any kind."
    elif verdict.kind == "no-sign":
        yield f"{served} serves in order: no sign of a pattern, which does not mean that there is none."
    elif verdict.kind == "favourite":
        yield f"{served} serves in order: {verdict.spot} came more often than the mix asks for."
    else:
        often = "often" if verdict.kind == "switches-too-often" else "seldom"
        who = "you change" if server == "own" else "your opponent changes"
        yield f"{served} serves in order: {who} spots too {often} to be hard to read."
    if switching and needed <= served < switching:
        yield f"Changing spots too often or too seldom cannot show before {switching} serves."


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
