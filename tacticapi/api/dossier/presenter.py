"""Dossier ▶ JSON, and Markdown."""

from typing import Any

from tacticapi.api.debrief.words import with_wing
from tacticapi.api.markdown import bullets, joined, plain, section, table
from tacticapi.club.dossier import Dossier, DossierBelief
from tacticapi.domain.rulebook import Rulebook
from tacticapi.pictures import percent

DIGITS = 3
AGEING = (
    "Evidence counts half after every {days:g} days, and less from another surface (model defaults). People change: "
    "look again in the warm-up."
)
FACTS = "Playing facts only: nothing about health, conduct or delays, and nothing from a match that goes on."
BETTING = "Not for betting: it must not be passed on for that."


def dossier_body(told: Dossier, rulebook: Rulebook) -> dict[str, Any]:
    """The whole dossier."""
    return {
        "player_id": told.player_id,
        "rulebook": {"version": rulebook.version, "digest": rulebook.digest},
        "label": told.label,
        "surface": told.surface,
        "matches": [
            {
                "match_id": match.match_id,
                "started_at": match.day.isoformat(),
                "surface": match.surface,
                "weight": round(match.weight, DIGITS),
                "observations": match.observations,
            }
            for match in told.matches
        ],
        "beliefs": [_belief(belief) for belief in told.beliefs],
        "playing": list(told.playing),
        "notice": _notes(told, rulebook),
    }


def dossier_markdown(told: Dossier, rulebook: Rulebook) -> str:
    """The dossier as a document."""
    where = f", for {told.surface}" if told.surface else ""
    rows = (
        (f"{match.day:%Y-%m-%d}", match.surface or "not known", percent(match.weight), str(match.observations))
        for match in told.matches
    )
    return joined(
        f"# Dossier: {plain(told.label + where)}",
        "" if told.beliefs or told.withheld else "Nothing was seen yet.",
        section("Beliefs", bullets(map(_line, told.beliefs))),
        section("Matches", table(("day", "surface", "still counts", "observations"), rows)),
        section("Please note", bullets(_notes(told, rulebook))),
    )


def _notes(told: Dossier, rulebook: Rulebook) -> list[str]:
    if told.withheld:
        return [told.withheld]
    return [AGEING.format(days=rulebook.defaults["dossier"]["half_life_days"]), FACTS, BETTING]


def _belief(belief: DossierBelief) -> dict[str, Any]:
    return {
        "trait": belief.trait,
        "wing": belief.wing,
        "title": belief.title,
        "prior": round(belief.prior, DIGITS),
        "probability": round(belief.probability, DIGITS),
        "chances": round(belief.chances, DIGITS),
        "because": list(belief.because),
    }


def _line(belief: DossierBelief) -> str:
    name = plain(with_wing(belief.title, belief.wing))
    seen = f": {plain('; '.join(belief.because))}" if belief.because else ""
    return f"**{name}** {percent(belief.probability)} (before anything was seen {percent(belief.prior)}){seen}"
