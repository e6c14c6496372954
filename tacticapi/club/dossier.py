"""Summarize what earlier matches showed about an opponent, and choose what to start the next match with.

Only playing facts are used. The dossier is withheld while a match against that opponent may show only safety advice.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from operator import mul
from typing import Annotated

from tacticapi.advice import Adviser
from tacticapi.advice.plan import best_tried, is_condemned, tries_words
from tacticapi.club.health import health_of
from tacticapi.club.players import known_player
from tacticapi.club.services import NotFound, Refused, Services, refuse
from tacticapi.club.situations import KeptMatch, alone_in_words, read_kept, situation, withheld_now
from tacticapi.domain import Chance, Id, Thousandth
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import OfWing
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Earlier, Moment, Observation, Situation, Way, summed
from tacticapi.evidence.entries import read_entries
from tacticapi.posted import PROFILES
from tacticapi.pricing.baseline import Judged
from tacticapi.store import Match, Player, UnitOfWork

NEVER_QUALITIES = frozenset({"delays"})
NEVER_SUBJECTS = frozenset({"physical", "conduct", "body_language", "record", "plan", *PROFILES})
MAX_DAYS = 4  # named in full; the rest are only counted
MAX_READ = 10  # newest matches that are read; older ones have almost no weight
MAX_SEEN = 100  # observations kept per match, sums first: every later match and its advice store them
BEGINS = "Some beliefs start from earlier matches against this opponent ({days}). People change: check again."
CLOSED = (
    "Earlier matches against this opponent are not used: a match against them is in progress, "
    "and only safety advice may be shown now."
)


@dataclass(frozen=True, slots=True)
class BeginWith:
    """A tactic to start with next time."""

    tactic: Annotated[str, "Id of the tactic."]
    title: Annotated[str, "The tactic's title."]
    say: Annotated[str, "What to say on court."]
    because: Annotated[tuple[str, ...], "Why, in counts."]
    stop_when: Annotated[str, "When to review it."]


@dataclass(frozen=True, slots=True)
class MatchEvidence:
    """An earlier match that the dossier uses as evidence."""

    match_id: Annotated[Id, "Id of the match."]
    day: datetime
    observations: Annotated[int, "Number of observations in it of how the opponent played."]
    earlier: Earlier
    tried: tuple[Judged, ...] = ()


def lesson(kept: KeptMatch, surface: str | None, now: datetime, adviser: Adviser, *, tries: bool) -> MatchEvidence:
    """Return a match's playing facts as evidence for a match on `surface`; with `tries`, also judge its tactics."""
    rulebook = adviser.rulebook
    whole = situation(kept, Moment.AFTER_MATCH, rulebook)
    counted = (entry.observation for entry in read_entries(whole, rulebook).counted)
    seen = [one for one in counted if one.way is not Way.TEXT and may_be_known(one.what, rulebook)]
    there = whole.context.get("surface")
    same = surface is None or there is None or there == surface
    counts = weight(kept.match.started_at, now, rulebook, same_surface=same)
    sums = added_up(seen, int(rulebook.defaults["evidence"]["graded_entries"]))
    earlier = Earlier(kept.match.started_at.date(), there, round(counts, 4), tuple(sums))
    found = summed(whole.tries).items() if tries else ()
    names = [name for name, one in found if one.tried and rulebook.tactics[name].price]
    judge = adviser.judge(whole) if names else None
    tried = tuple(judge(name, whole.tries) for name in names) if judge else ()
    return MatchEvidence(kept.match.id, kept.match.started_at, len(seen), earlier, tried)


def added_up(observations: Iterable[Observation], max_graded: int) -> list[Observation]:
    """Sum the counts per kind, wing, court and serve; of all other observations, keep the newest `max_graded`."""
    sums: dict[Hashable, Observation] = {}
    graded: dict[Hashable, list[Observation]] = {}
    for one in observations:
        bare = replace(one, index=0, end=None, set=None, game=None, by=None, note=None, ref=None)
        key = (one.what, one.way, one.wing, one.court, one.serve)
        if one.way in (Way.COUNT, Way.COUNTS):
            sums[key] = _sum(sums[key], bare) if key in sums else bare
        else:
            graded.setdefault(key, []).append(bare)
    newest = [one for alike in graded.values() for one in alike[-max_graded:]]
    return [*sums.values(), *newest][:MAX_SEEN]


def _sum(one: Observation, other: Observation) -> Observation:
    if one.way is Way.COUNT:
        return replace(one, count=(one.count or 0) + (other.count or 0), of=(one.of or 0) + (other.of or 0))
    return replace(one, counts=dict(Counter(one.counts) + Counter(other.counts)))


def weight(started: datetime, now: datetime, rulebook: Rulebook, *, same_surface: bool) -> float:
    """Return a match's weight, 0 to 1: halved with every half-life, and lower on another surface."""
    figures = rulebook.defaults["dossier"]
    days = max(0.0, (now - started) / timedelta(days=1))
    aged = float(2.0 ** (-days / figures["half_life_days"]))
    return aged if same_surface else aged * float(figures["other_surface"])


def may_be_known(what: str, rulebook: Rulebook) -> bool:
    """Return whether a kind is about the opponent's play, and not about health, gestures, conduct or delays."""
    if what.partition(".")[0] in NEVER_SUBJECTS or what in health_of(rulebook).kinds:
        return False
    measures = rulebook.kinds[what].measures if what in rulebook.kinds else ()
    return not any(NEVER_QUALITIES & measure.loads.keys() for measure in measures)


@dataclass(frozen=True, slots=True)
class DossierBelief:
    """A belief based on the evidence from all matches."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    title: Annotated[str, "Title of the trait."]
    prior: Annotated[Chance, "The trait's probability before any evidence."]
    probability: Annotated[Chance, "The trait's probability now."]
    chances: Annotated[Thousandth, "Number of chances observed in all matches."]
    because: Annotated[tuple[str, ...], "What changed it, in counts, with the day of the match; strongest first."]


@dataclass(frozen=True, slots=True)
class Dossier:
    """Beliefs about one opponent, with the earlier matches as evidence."""

    player_id: Annotated[Id, "Id of the opponent."]
    label: Annotated[str, "Label of the opponent."]
    surface: Annotated[str | None, "The requested surface; absent for any surface."]
    matches: Annotated[tuple[MatchEvidence, ...], "Ended matches, newest first, at most ten."]
    begin_with: Annotated[tuple[BeginWith, ...], "Tactics that did better than playing without them, best first."]
    beliefs: Annotated[tuple[DossierBelief, ...], "Beliefs that evidence changed, furthest from the prior first."]
    playing: Annotated[tuple[Id, ...], "Matches in progress against this opponent; they are left out."] = ()
    withheld: str | None = None  # the reason if it is withheld now


def dossier(services: Services, club_id: str, opponent_id: str, *, surface: str | None = None) -> Dossier:
    """Return the current dossier; `surface` is the next match's. Raises NotFound; Refused for our own player."""
    with services.reading(club_id) as work:
        player = known_opponent(work, opponent_id)
        playing, why = _playing(services, work, opponent_id)
        lessons = () if why else _lessons(services, work, opponent_id, surface, tries=True)
    beliefs = () if why else _beliefs(player, lessons, services.adviser)
    going = tuple(one.id for one in playing)
    return Dossier(player.id, player.label, surface, lessons, _worked(lessons, services.rulebook), beliefs, going, why)


def _worked(lessons: Sequence[MatchEvidence], rulebook: Rulebook) -> tuple[BeginWith, ...]:
    """Return tactics that did better than playing without them, best first, unless the newest tries failed."""
    rule, tactics = rulebook.defaults["plan"], rulebook.tactics
    found: dict[str, list[tuple[MatchEvidence, Judged]]] = {}
    for one in (lesson for lesson in lessons if lesson.earlier.weight):
        for told in one.tried:
            found.setdefault(told.tactic, []).append((one, told))
    best = best_tried((_all(of) for of in found.values() if not is_condemned(of[0][1], rule)), rule)
    return tuple(
        BeginWith(
            one.tactic,
            tactics[one.tactic].title,
            tactics[one.tactic].say,
            tuple(f"{match.earlier.day.isoformat()}: {tries_words(told)}" for match, told in found[one.tactic]),
            tactics[one.tactic].stop_when,
        )
        for one in best[: int(rulebook.defaults["debrief"]["begin_with"])]
    )


def _all(told: Sequence[tuple[MatchEvidence, Judged]]) -> Judged:
    tried = sum(one.tried for _, one in told)
    usual = sum(one.usual * one.tried for _, one in told) / tried
    counts = [match.earlier.weight * one.tried for match, one in told]
    means, spreads = zip(*((one.mean, one.spread) for _, one in told), strict=True)
    mean, spread = (sum(map(mul, counts, of)) / sum(counts) for of in (means, spreads))
    return Judged(told[0][1].tactic, tried, sum(one.won for _, one in told), usual, mean, spread)


def taught(services: Services, club_id: str, opponent_id: str, *, surface: str | None = None) -> tuple[Earlier, ...]:
    """Return the earlier matches for the next match, newest first. They are stored now and used once permitted.

    Raises NotFound; Refused for our own player.
    """
    with services.reading(club_id) as work:
        known_opponent(work, opponent_id)
        return _earlier(services, work, opponent_id, surface)


def _earlier(services: Services, work: UnitOfWork, opponent_id: str, surface: str | None) -> tuple[Earlier, ...]:
    lessons = _lessons(services, work, opponent_id, surface)
    return tuple(one.earlier for one in lessons if one.earlier.seen)


def known_opponent(work: UnitOfWork, opponent_id: str) -> Player:
    """Return an opponent in this club. Raises NotFound; Refused for our own player."""
    player = known_player(work, opponent_id)
    if player.side != "opponent":
        raise refuse("an opponent", "opponent_id", value=opponent_id)
    return player


def _playing(services: Services, work: UnitOfWork, opponent_id: str) -> tuple[list[Match], str | None]:
    playing = work.matches.find(opponent_id=opponent_id, status="open")
    found = (withheld_now(services, read_kept(work, match.id)) for match in playing)
    return playing, next((alone_in_words(instead) for instead in found if instead), None)


def _lessons(
    services: Services, work: UnitOfWork, opponent_id: str, surface: str | None, *, tries: bool = False
) -> tuple[MatchEvidence, ...]:
    ended = work.matches.find(opponent_id=opponent_id, status="ended")
    newest_first = sorted(ended, key=lambda match: (match.started_at, match.id), reverse=True)[:MAX_READ]
    now = services.now()
    kept = (read_kept(work, match.id) for match in newest_first)
    return tuple(lesson(one, surface, now, services.adviser, tries=tries) for one in kept)


def _beliefs(player: Player, lessons: Sequence[MatchEvidence], adviser: Adviser) -> tuple[DossierBelief, ...]:
    """Return every belief that the opponent's facts or a match changed, starting with the largest change."""
    rulebook, health = adviser.rulebook, health_of(adviser.rulebook)
    facts = {key: value for key, value in player.facts.items() if f"opponent.{key}" not in health.kinds}
    earlier = tuple(one.earlier for one in lessons)
    known = adviser.evidence.believe(Situation(Moment.BEFORE_MATCH, opponent=facts, earlier=earlier))
    found = [
        DossierBelief(
            trait=belief.trait,
            wing=belief.wing,
            title=rulebook.traits[belief.trait].title,
            prior=belief.prior,
            probability=belief.probability,
            chances=belief.chances,
            because=tuple(part.text for part in belief.contributions),
        )
        for belief in known.all
        if belief.contributions
    ]
    return tuple(sorted(found, key=lambda b: (-abs(b.probability - b.prior), b.trait, b.wing or "")))


def begun(services: Services, club_id: str, asked: Situation) -> tuple[Situation, tuple[str, ...]]:
    """Add the named opponent's earlier matches to a situation, or return it unchanged with a notice that explains why.

    Raises Refused if this club has no such opponent.
    """
    opponent_id = asked.opponent_id or ""
    with services.reading(club_id) as work:
        try:
            known_opponent(work, opponent_id)
        except (NotFound, Refused):
            raise refuse("the id of one of your club's opponents", "opponent_id", value=opponent_id) from None
        if _playing(services, work, opponent_id)[1]:
            return asked, (CLOSED,)
        return replace(asked, earlier=_earlier(services, work, opponent_id, asked.context.get("surface"))), ()


def told_apart(advice: Advice, asked: Situation, notices: tuple[str, ...] = ()) -> Advice:
    """Add these notices to the advice, and a notice that lists the earlier matches if any of them changed a belief."""
    days = {one.day.isoformat() for one in asked.earlier}
    moved = (part.text[:10] in days for belief in advice.beliefs for part in belief.contributions)
    if days and any(moved):
        notices = (*notices, BEGINS.format(days=days_of(asked.earlier)))
    return replace(advice, notice=(*notices, *advice.notice))


def days_of(earlier: tuple[Earlier, ...]) -> str:
    """Describe the matches, newest first: "2026-05-01 on clay, 2026-03-08"."""
    named = [f"{one.day.isoformat()} on {one.surface}" if one.surface else one.day.isoformat() for one in earlier]
    more = len(named) - MAX_DAYS
    return ", ".join(named[:MAX_DAYS]) + (f" and {more} more" if more > 0 else "")
