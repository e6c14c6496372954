"""Plain sentences that belong to a serve mix: what it rests on and how little that may be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

from tacticapi.games.best_mix import MixAdvice
from tacticapi.games.counts import SpotCounts
from tacticapi.games.predictability import Verdict

Server = Literal["own", "opponent"]

_WIDE: Final = 0.4  # a best share that may lie anywhere in so wide a range is not known yet


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
