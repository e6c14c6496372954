"""The dossier: what is believed of an opponent across matches, aged, with dates and surfaces.

It holds playing facts only: nothing physical, no safety sign, no conduct, no delays. A match that goes on is no part
of it, and while only safety may be read of that match, nothing of the dossier is told.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tacticapi.domain.belief import belief_name
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Earlier, Situation
from tacticapi.domain.terms import Moment, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.service.desk import Desk
from tacticapi.service.errors import refuse
from tacticapi.service.learned import Key, Lesson, lesson, may_be_known, playing_facts, together
from tacticapi.service.permits import alone_in_words, withheld_now
from tacticapi.service.players import known_player
from tacticapi.service.situations import read_kept
from tacticapi.store import Match, Player, UnitOfWork


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
    """What is believed of one opponent. `playing` are matches that go on and are left out; `withheld` says why
    nothing is told now, None where it is.
    """

    player_id: str
    label: str
    surface: str | None
    matches: tuple[Lesson, ...]
    beliefs: tuple[DossierBelief, ...]
    playing: tuple[str, ...] = ()
    withheld: str | None = None


@dataclass(frozen=True, slots=True)
class Taught:
    """What ended matches taught for the next one: `priors` by belief name ("trait" or "trait/wing"), newest first.

    They leave out the opponent's profile, which a situation states itself.
    """

    priors: Mapping[str, float]
    earlier: tuple[Earlier, ...]
    withheld: str | None = None


def dossier(desk: Desk, club_id: str, opponent_id: str, *, surface: str | None = None) -> Dossier:
    """The dossier of an opponent as of now; `surface` is that of the next match, on which it counts in full.

    Raises NotFound; Refused for an own player.
    """
    with desk.reading(club_id) as work:
        player = known_opponent(work, opponent_id)
        playing, why = _playing(desk, work, opponent_id)
        lessons = () if why else _lessons(desk, work, opponent_id, surface)
    beliefs = () if why else _beliefs(player, lessons, desk.rulebook)
    return Dossier(player.id, player.label, surface, lessons, beliefs, tuple(one.id for one in playing), why)


def taught(desk: Desk, club_id: str, opponent_id: str, *, surface: str | None = None, reads: bool = True) -> Taught:
    """What the next match begins with.

    reads: whether someone reads it now, so that a match that goes on may keep it closed; else it is only kept.
    Raises NotFound; Refused for an own player.
    """
    with desk.reading(club_id) as work:
        known_opponent(work, opponent_id)
        if reads and (why := _playing(desk, work, opponent_id)[1]):
            return Taught({}, (), why)
        lessons = [one for one in _lessons(desk, work, opponent_id, surface) if one.observations]
    priors = together([(one.weight, one.beliefs) for one in lessons], desk.rulebook)
    return Taught(
        {belief_name(*key): p for key, p in priors.items()},
        tuple(Earlier(one.day.date(), one.surface) for one in lessons),
    )


def known_opponent(work: UnitOfWork, opponent_id: str) -> Player:
    """The opponent of this club. Raises NotFound; Refused for an own player."""
    player = known_player(work, opponent_id)
    if player.side != "opponent":
        raise refuse("an opponent", "opponent_id", value=opponent_id)
    return player


def _playing(desk: Desk, work: UnitOfWork, opponent_id: str) -> tuple[list[Match], str | None]:
    """The opponent's matches that go on, and why one of them keeps the dossier closed."""
    playing = work.matches.find(opponent_id=opponent_id, status="open")
    found = (withheld_now(desk, read_kept(work, match.id)) for match in playing)
    return playing, next((alone_in_words(instead) for instead in found if instead), None)


def _lessons(desk: Desk, work: UnitOfWork, opponent_id: str, surface: str | None) -> tuple[Lesson, ...]:
    """What each ended match taught, newest first."""
    ended = work.matches.find(opponent_id=opponent_id, status="ended")
    if not ended:
        return ()
    now, model = desk.now(), EvidenceModel(desk.rulebook)
    newest_first = sorted(ended, key=lambda match: (match.started_at, match.id), reverse=True)
    return tuple(lesson(read_kept(work, match.id), surface, now, desk.rulebook, model) for match in newest_first)


def _beliefs(player: Player, lessons: Sequence[Lesson], rulebook: Rulebook) -> tuple[DossierBelief, ...]:
    """Every belief that the profile or a match moved, the furthest from its prior first."""
    facts = {key: value for key, value in player.facts.items() if may_be_known(f"opponent.{key}", rulebook)}
    profile = playing_facts(EvidenceModel(rulebook).believe(Situation(Moment.BEFORE_MATCH, opponent=facts)).all)
    weighed = [(1.0, profile, ""), *((one.weight, one.beliefs, f"{one.day:%Y-%m-%d}: ") for one in lessons)]
    parts: dict[Key, list[tuple[float, str]]] = {}
    for share, beliefs, day in weighed:
        for belief in beliefs:
            told = parts.setdefault((belief.trait, belief.wing), [])
            told += [(share * part.chances, day + part.text) for part in belief.contributions]
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
        for (trait, wing), p in together([(share, beliefs) for share, beliefs, _ in weighed], rulebook).items()
        if parts[trait, wing]
    ]
    return tuple(sorted(found, key=lambda b: (-abs(b.probability - b.prior), b.trait, b.wing or "")))
