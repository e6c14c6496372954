"""The serve mix of each court, with what the serves so far give away."""

from collections.abc import Mapping
from typing import Any

from tacticapi.advice.suggestions import COURTS, serve_targets
from tacticapi.api.calculations.occasion import framed
from tacticapi.api.calculations.schemas import ServeMixSchema
from tacticapi.api.calculations.serves import ServesAsked
from tacticapi.domain.terms import Wing
from tacticapi.pricing.predictability import ShareAfter, Verdict
from tacticapi.pricing.serve_mix import CourtMix, MixModel, serve_mix

DEFAULTS = "What nobody counted is a model default of this service, not a measured result."


def serve_mix_body(asked: ServesAsked, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """The answer, unrounded; a court that was not asked for is null."""
    return framed(asked.occasion, ServeMixSchema, lambda: {"courts": _courts(asked, defaults)}, (DEFAULTS,))


def _courts(asked: ServesAsked, defaults: Mapping[str, Any]) -> dict[str, Any]:
    wings = {(t.court, t.spot): t.wing.value for wing in Wing for t in serve_targets(asked.receiver, wing)}
    mixes = serve_mix(asked.courts, MixModel(**defaults["serve_mix"]), asked.seed, asked.server)
    return {**dict.fromkeys(COURTS), **{mix.court: _court(mix, wings) for mix in mixes}}


def _court(mix: CourtMix, wings: Mapping[tuple[str, str], str]) -> dict[str, Any]:
    advice = mix.advice
    return {
        "tenths": mix.tenths,
        "order": list(mix.order),
        "value": {"chance": advice.value, "low": advice.value_low, "high": advice.value_high},
        "if_read": advice.floor,
        "lean_weight": advice.trust,
        "past_gives": advice.past_gives,
        "spots": [
            {
                "spot": spot.spot,
                "wing": wings.get((mix.court, spot.spot)),
                "share": spot.share,
                "low": spot.low,
                "high": spot.high,
                "wins": spot.wins,
                "concedes": spot.concedes,
                "if_always": spot.if_always,
            }
            for spot in advice.spots
        ],
        "pattern": _verdict(mix.verdict) if mix.verdict else None,
        "by_score": [{"score": score, **_verdict(verdict)} for score, verdict in mix.by_score.items()],
        "after": [_after(after) for after in mix.after],
        "notes": list(mix.notes),
    }


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        "verdict": verdict.kind,
        "spot": verdict.spot,
        "p_value": verdict.p_value,
        "served": verdict.served,
        "needed": verdict.needed,
        "needed_for_switching": verdict.needed_for_switching,
    }


def _after(after: ShareAfter) -> dict[str, Any]:
    return {
        "spot": after.spot,
        "again": after.again,
        "of": after.of,
        "share": after.share,
        "by_chance": after.by_chance,
        "p_value": after.p_value,
    }
