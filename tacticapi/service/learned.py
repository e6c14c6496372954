"""What each ended match against an opponent taught by itself, and the priors that all of them make together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import copysign, exp, log

from tacticapi.domain.belief import Belief
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Moment, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.service.health import health_of
from tacticapi.service.scorekeeping import state_after
from tacticapi.service.situations import Kept, situation

NEVER_TRAITS = frozenset({"delays_play"})
NEVER_SUBJECTS = frozenset({"physical", "conduct"})
SECONDS_A_DAY = 86_400.0
CERTAIN = 25.0  # log odds, about 1 in 72 billion: beyond them a float no longer tells a chance from certainty
Key = tuple[str, Wing | None]


@dataclass(frozen=True, slots=True)
class Lesson:
    """One ended match: its beliefs without the opponent's profile; `weight` (0 to 1) is what it still counts."""

    match_id: str
    day: datetime
    surface: str | None
    weight: float
    observations: int
    beliefs: tuple[Belief, ...]


def lesson(kept: Kept, surface: str | None, now: datetime, rulebook: Rulebook, model: EvidenceModel) -> Lesson:
    """What a match says by itself, of playing facts alone; `surface` is that of the next match."""
    whole = situation(kept, Moment.AFTER_MATCH, rulebook)
    seen = tuple(one for one in whole.observations if may_be_known(one.what, rulebook))
    there = whole.context.get("surface")
    # places must follow the list again, since evidence names observations by them
    placed = tuple(replace(one, index=place) for place, one in enumerate(seen))
    playing = replace(whole, observations=placed, opponent={}, priors={})
    same = surface is None or there is None or there == surface
    counts = weight(kept.match.started_at, now, rulebook, same_surface=same)
    beliefs = playing_facts(model.believe(playing, state_after(kept.steps)).all)
    return Lesson(kept.match.id, kept.match.started_at, there, counts, len(seen), beliefs)


def weight(started: datetime, now: datetime, rulebook: Rulebook, *, same_surface: bool) -> float:
    """What a match still counts: half after every half-life, less on another surface. 0 to 1."""
    figures = rulebook.defaults["dossier"]
    days = max(0.0, (now - started).total_seconds() / SECONDS_A_DAY)
    aged = float(2.0 ** (-days / figures["half_life_days"]))
    return aged if same_surface else aged * float(figures["other_surface"])


def may_be_known(what: str, rulebook: Rulebook) -> bool:
    """Whether a kind is a playing fact: nothing of health, nothing physical, no conduct."""
    return what.partition(".")[0] not in NEVER_SUBJECTS and what not in health_of(rulebook).kinds


def playing_facts(beliefs: Iterable[Belief]) -> tuple[Belief, ...]:
    """The beliefs about how someone plays: nothing of health, no delays."""
    return tuple(belief for belief in beliefs if belief.trait not in NEVER_TRAITS)


def together(weighed: Sequence[tuple[float, Sequence[Belief]]], rulebook: Rulebook) -> dict[Key, float]:
    """Priors moved by the weighed log odds of each match; before a match none is lifted above the ceiling."""
    ceiling = float(rulebook.defaults["evidence"]["warm_up_ceiling"])
    moved: dict[Key, float] = {}
    for share, beliefs in weighed:
        for belief in beliefs:
            before = moved.setdefault((belief.trait, belief.wing), log_odds(belief.prior))
            moved[belief.trait, belief.wing] = before + share * (log_odds(belief.probability) - log_odds(belief.prior))
    capped = {key: min(_chance(odds), max(ceiling, rulebook.traits[key[0]].prior)) for key, odds in moved.items()}
    return _leaving_room(capped, rulebook)


def log_odds(p: float) -> float:
    """Return the log odds of a probability (0 to 1), none further from even than CERTAIN."""
    return log(p / (1.0 - p)) if _chance(-CERTAIN) < p < _chance(CERTAIN) else copysign(CERTAIN, p - 0.5)


def _chance(odds: float) -> float:
    """The probability of log odds, none further from even than CERTAIN: neither 0 nor 1 could be moved again."""
    return 1.0 / (1.0 + exp(-max(-CERTAIN, min(CERTAIN, odds))))


def _leaving_room(chances: Mapping[Key, float], rulebook: Rulebook) -> dict[Key, float]:
    """Traits that exclude one another shrunk together where they would leave too little for none of them."""
    most = float(rulebook.defaults["dossier"]["exclusive_most"])
    totals: dict[str, float] = {}
    for (trait, _), p in chances.items():
        if group := rulebook.traits[trait].excludes:
            totals[group] = totals.get(group, 0.0) + p
    scale = {group: min(1.0, most / total) for group, total in totals.items()}
    return {key: p * scale.get(rulebook.traits[key[0]].excludes or "", 1.0) for key, p in chances.items()}
