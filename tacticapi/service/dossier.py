"""The dossier: what is believed of an opponent across matches, aged, with dates and surfaces.

It holds playing facts only: nothing physical, no safety sign, no conduct, no delays.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp, log

from tacticapi.domain.belief import Belief, belief_name
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Wing
from tacticapi.evidence import EvidenceModel
from tacticapi.service.desk import Desk
from tacticapi.service.errors import refuse
from tacticapi.service.figures import EXCLUSIVE_MOST, HALF_LIFE_DAYS, OTHER_SURFACE
from tacticapi.service.health import HEALTH_TRAITS, health_of
from tacticapi.service.players import known_player
from tacticapi.service.scorekeeping import state_after
from tacticapi.service.situations import Kept, read_kept, situation

NEVER_TRAITS = HEALTH_TRAITS | {"delays_play"}
NEVER_SUBJECTS = frozenset({"physical", "conduct"})
SECONDS_A_DAY = 86_400.0
Key = tuple[str, Wing | None]


@dataclass(frozen=True, slots=True)
class DossierMatch:
    """A match that the dossier rests on; `weight` (0 to 1) is what its evidence still counts."""

    match_id: str
    day: datetime
    surface: str | None
    weight: float
    observations: int


@dataclass(frozen=True, slots=True)
class DossierBelief:
    """A belief over all matches: `prior` is the rulebook's, `because` says what moved it, newest match first."""

    trait: str
    wing: Wing | None
    title: str
    prior: float
    probability: float
    chances: float
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Dossier:
    """What is believed of one opponent. `priors` by belief name ("trait" or "trait/wing") are for the next match.

    They leave out the opponent's profile, which a situation states itself.
    """

    player_id: str
    label: str
    surface: str | None
    matches: tuple[DossierMatch, ...]
    beliefs: tuple[DossierBelief, ...]
    priors: Mapping[str, float]


def dossier(
    desk: Desk, club_id: str, opponent_id: str, *, surface: str | None = None, without_match: str | None = None
) -> Dossier:
    """The dossier of an opponent as of now; `surface` is that of the next match, on which it counts in full.

    without_match: a match to leave out, such as the one being played. Raises NotFound; Refused for an own player.
    """
    with desk.reading(club_id) as work:
        player = known_player(work, opponent_id)
        if player.side != "opponent":
            raise refuse("an opponent", "opponent_id", value=opponent_id)
        found = [m for m in work.matches.of_player(opponent_id) if m.id != without_match]
        kept = [read_kept(work, match.id) for match in sorted(found, key=lambda m: (m.started_at, m.id), reverse=True)]
    now, book = desk.now(), desk.rulebook
    read = [_read(one, surface, now, book) for one in kept]
    profile = EvidenceModel(book).believe(Situation(Moment.BEFORE_MATCH, opponent=_profile(player.facts, book))).all
    seen = [(match.weight, beliefs) for match, beliefs in read]
    priors = _together(seen, book)
    return Dossier(
        player_id=player.id,
        label=player.label,
        surface=surface,
        matches=tuple(match for match, _ in read),
        beliefs=_beliefs([(1.0, profile), *seen], book),
        priors={belief_name(*key): p for key, p in priors.items()},
    )


def weight(started: datetime, now: datetime, *, same_surface: bool) -> float:
    """What a match still counts: half after every half-life, less on another surface. 0 to 1."""
    days = max(0.0, (now - started).total_seconds() / SECONDS_A_DAY)
    return float(2.0 ** (-days / HALF_LIFE_DAYS)) * (1.0 if same_surface else OTHER_SURFACE)


def _read(
    kept: Kept, surface: str | None, now: datetime, rulebook: Rulebook
) -> tuple[DossierMatch, tuple[Belief, ...]]:
    """The match, and what it says by itself: its observations without the opponent's profile."""
    whole = situation(kept, Moment.AFTER_MATCH, rulebook)
    seen = tuple(one for one in whole.observations if _allowed(one.what, rulebook))
    there = whole.context.get("surface")
    same = surface is None or there is None or there == surface
    # places must follow the list again, since evidence names observations by them
    placed = tuple(replace(one, index=place) for place, one in enumerate(seen))
    playing = replace(whole, observations=placed, opponent={}, priors={})
    beliefs = EvidenceModel(rulebook).believe(playing, state_after(kept.steps)).all
    counts = weight(kept.match.started_at, now, same_surface=same)
    return DossierMatch(kept.match.id, kept.match.started_at, there, counts, len(seen)), beliefs


def _allowed(what: str, rulebook: Rulebook) -> bool:
    return what.partition(".")[0] not in NEVER_SUBJECTS and what not in health_of(rulebook).kinds


def _profile(facts: Mapping[str, object], rulebook: Rulebook) -> dict[str, object]:
    return {key: value for key, value in facts.items() if _allowed(f"opponent.{key}", rulebook)}


def _together(weighed: Sequence[tuple[float, Sequence[Belief]]], rulebook: Rulebook) -> dict[Key, float]:
    """Priors moved by the weighed log odds of each match; before a match none is lifted above the ceiling."""
    ceiling = float(rulebook.defaults["evidence"]["warm_up_ceiling"])
    moved: dict[Key, float] = {}
    for _, beliefs in weighed:
        for belief in beliefs:
            if belief.trait not in NEVER_TRAITS:
                moved.setdefault((belief.trait, belief.wing), _log_odds(belief.prior))
    for share, beliefs in weighed:
        for belief in beliefs:
            if belief.trait not in NEVER_TRAITS:
                step = _log_odds(belief.probability) - _log_odds(belief.prior)
                moved[belief.trait, belief.wing] += share * step
    capped = {
        key: min(1.0 / (1.0 + exp(-odds)), max(ceiling, rulebook.traits[key[0]].prior)) for key, odds in moved.items()
    }
    return _leaving_room(capped, rulebook)


def _leaving_room(chances: dict[Key, float], rulebook: Rulebook) -> dict[Key, float]:
    """Traits that exclude one another shrunk together where they would leave too little for none of them."""
    totals: dict[str, float] = {}
    for (trait, _), p in chances.items():
        if group := rulebook.traits[trait].excludes:
            totals[group] = totals.get(group, 0.0) + p
    scale = {group: min(1.0, EXCLUSIVE_MOST / total) for group, total in totals.items()}
    return {key: p * scale.get(rulebook.traits[key[0]].excludes or "", 1.0) for key, p in chances.items()}


def _beliefs(weighed: Sequence[tuple[float, Sequence[Belief]]], rulebook: Rulebook) -> tuple[DossierBelief, ...]:
    """Every belief that anything moved, the furthest from its prior first."""
    parts: dict[Key, list[tuple[float, str]]] = {}
    for share, beliefs in weighed:
        for belief in beliefs:
            told = parts.setdefault((belief.trait, belief.wing), [])
            told += [(share * part.chances, part.text) for part in belief.contributions]
    found = [
        DossierBelief(
            trait=trait,
            wing=wing,
            title=rulebook.traits[trait].title,
            prior=rulebook.traits[trait].prior,
            probability=p,
            chances=sum(chances for chances, _ in parts[trait, wing]),
            because=tuple(text for _, text in parts[trait, wing]),
        )
        for (trait, wing), p in _together(weighed, rulebook).items()
        if parts[trait, wing]
    ]
    return tuple(sorted(found, key=lambda b: (-abs(b.probability - b.prior), b.trait, b.wing or "")))


def _log_odds(p: float) -> float:
    return log(p / (1.0 - p))
