"""Say what earlier matches taught of an opponent, and where the next match begins.

Playing facts only. While only safety may be read of a match against them, the dossier is withheld.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
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
from tacticapi.domain.reasoning import Belief, OfWing
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Earlier, Moment, Observation, Situation, Way, summed
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.entries import read_entries
from tacticapi.posted import PROFILES
from tacticapi.pricing.baseline import Judged
from tacticapi.store import Match, Player, UnitOfWork

NEVER_QUALITIES = frozenset({"delays"})
NEVER_SUBJECTS = frozenset({"physical", "conduct", "body_language", "record", "plan", *PROFILES})
SECONDS_A_DAY = 86_400.0
MAX_DAYS = 4  # named; how many more there are is said
MAX_READ = 10  # matches that are read, the newest: older ones hardly count
MAX_SEEN = 100  # things that are kept of one match, sums first: every later match and advice holds them
BEGINS = "Some beliefs begin from earlier matches against this opponent ({days}). People change: look again."
CLOSED = (
    "What earlier matches taught of this opponent is not used: a match against them goes on, and only safety may be "
    "shown of it now."
)


@dataclass(frozen=True, slots=True)
class BeginWith:
    """A tactic to begin with next time."""

    tactic: Annotated[str, "Id of the tactic."]
    title: Annotated[str, "Its title."]
    say: Annotated[str, "What to say on court."]
    because: Annotated[tuple[str, ...], "Why, in counts."]
    stop_when: Annotated[str, "When to look again."]


@dataclass(frozen=True, slots=True)
class MatchEvidence:
    """A match that it rests on."""

    match_id: Annotated[Id, "Id of the match."]
    day: datetime
    observations: Annotated[int, "Its observations of how the opponent played."]
    earlier: Earlier
    tried: tuple[Judged, ...] = ()

    @property
    def surface(self) -> str | None:
        """Return its surface, None if it is not known."""
        return self.earlier.surface

    @property
    def weight(self) -> float:
        """Return what it still counts, 0 to 1."""
        return self.earlier.weight


def lesson(kept: KeptMatch, surface: str | None, now: datetime, adviser: Adviser, *, tries: bool) -> MatchEvidence:
    """Return what a match showed of playing facts, for a match on `surface`; with `tries`, judge what was tried too."""
    rulebook = adviser.rulebook
    whole = situation(kept, Moment.AFTER_MATCH, rulebook)
    counted = (entry.observation for entry in read_entries(whole, rulebook).counted)
    seen = [one for one in counted if one.way is not Way.TEXT and may_be_known(one.what, rulebook)]
    there = whole.context.get("surface")
    same = surface is None or there is None or there == surface
    counts = weight(kept.match.started_at, now, rulebook, same_surface=same)
    sums = added_up(seen, int(rulebook.defaults["evidence"]["graded_entries"]))
    earlier = Earlier(kept.match.started_at.date(), there, round(counts, 4), tuple(sums))
    tried = _tried(whole, adviser) if tries else ()
    return MatchEvidence(kept.match.id, kept.match.started_at, len(seen), earlier, tried)


def _tried(whole: Situation, adviser: Adviser) -> tuple[Judged, ...]:
    names = [name for name, one in summed(whole.tries).items() if one.tried and adviser.rulebook.tactics[name].price]
    judge = adviser.judge(whole) if names else None
    return tuple(judge(name, whole.tries) for name in names) if judge else ()


def added_up(observations: Iterable[Observation], max_graded: int) -> list[Observation]:
    """Return the counts of one kind, wing, court and serve added up, and the newest `max_graded` of all else."""
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
    """Return what a match still counts: half after every half-life, less on another surface. 0 to 1."""
    figures = rulebook.defaults["dossier"]
    days = max(0.0, (now - started).total_seconds() / SECONDS_A_DAY)
    aged = float(2.0 ** (-days / figures["half_life_days"]))
    return aged if same_surface else aged * float(figures["other_surface"])


def may_be_known(what: str, rulebook: Rulebook) -> bool:
    """Return whether a kind is about the opponent's play: nothing of health or gestures, no conduct, no delays."""
    if what.partition(".")[0] in NEVER_SUBJECTS or what in health_of(rulebook).kinds:
        return False
    measures = rulebook.kinds[what].measures if what in rulebook.kinds else ()
    return not any(NEVER_QUALITIES & measure.loads.keys() for measure in measures)


@dataclass(frozen=True, slots=True)
class DossierBelief:
    """A belief over all matches."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    title: Annotated[str, "Title of the trait."]
    prior: Annotated[Chance, "How likely it is before anything is seen."]
    probability: Annotated[Chance, "How likely it is now."]
    chances: Annotated[Thousandth, "How many chances were seen, all matches together."]
    because: Annotated[tuple[str, ...], "What moved it, in counts, with the day of the match; the strongest first."]


@dataclass(frozen=True, slots=True)
class Dossier:
    """What is believed of one opponent."""

    player_id: Annotated[Id, "Id of the opponent."]
    label: Annotated[str, "Label of the opponent."]
    surface: Annotated[str | None, "The requested surface; absent for any."]
    matches: Annotated[tuple[MatchEvidence, ...], "Ended matches, newest first, ten at most."]
    begin_with: Annotated[tuple[BeginWith, ...], "What did better here than going without it, best first."]
    beliefs: Annotated[tuple[DossierBelief, ...], "What anything moved, the furthest from its prior first."]
    playing: Annotated[tuple[Id, ...], "Matches in progress against this opponent, which are left out."] = ()
    withheld: str | None = None  # why it is withheld now


def dossier(services: Services, club_id: str, opponent_id: str, *, surface: str | None = None) -> Dossier:
    """Return the dossier as of now; `surface` is the next match's. Raises NotFound; Refused for an own player."""
    with services.reading(club_id) as work:
        player = known_opponent(work, opponent_id)
        playing, why = _playing(services, work, opponent_id)
        lessons = () if why else _lessons(services, work, opponent_id, surface, tries=True)
    beliefs = () if why else _beliefs(player, lessons, services.rulebook)
    going = tuple(one.id for one in playing)
    return Dossier(player.id, player.label, surface, lessons, _worked(lessons, services.rulebook), beliefs, going, why)


def _worked(lessons: Sequence[MatchEvidence], rulebook: Rulebook) -> tuple[BeginWith, ...]:
    """Return what did better in earlier matches than going without it, best first; the newest tries may condemn it."""
    rule, tactics = rulebook.defaults["plan"], rulebook.tactics
    found: dict[str, list[tuple[MatchEvidence, Judged]]] = {}
    for one in (lesson for lesson in lessons if lesson.weight):
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
    counts = [match.weight * one.tried for match, one in told]
    means, spreads = zip(*((one.mean, one.spread) for _, one in told), strict=True)
    mean, spread = (sum(map(mul, counts, of)) / sum(counts) for of in (means, spreads))
    return Judged(told[0][1].tactic, tried, sum(one.won for _, one in told), usual, mean, spread)


def taught(services: Services, club_id: str, opponent_id: str, *, surface: str | None = None) -> tuple[Earlier, ...]:
    """Return the earlier matches that the next match begins with, newest first: stored now, read once permitted.

    Raises NotFound; Refused for an own player.
    """
    with services.reading(club_id) as work:
        known_opponent(work, opponent_id)
        return _earlier(services, work, opponent_id, surface)


def _earlier(services: Services, work: UnitOfWork, opponent_id: str, surface: str | None) -> tuple[Earlier, ...]:
    lessons = _lessons(services, work, opponent_id, surface)
    return tuple(one.earlier for one in lessons if one.earlier.seen)


def known_opponent(work: UnitOfWork, opponent_id: str) -> Player:
    """Return the opponent of this club. Raises NotFound; Refused for an own player."""
    player = known_player(work, opponent_id)
    if player.side != "opponent":
        raise refuse("an opponent", "opponent_id", value=opponent_id)
    return player


def _playing(services: Services, work: UnitOfWork, opponent_id: str) -> tuple[list[Match], str | None]:
    """Return the opponent's matches that go on, and why one of them keeps the dossier closed."""
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


def _beliefs(player: Player, lessons: Sequence[MatchEvidence], rulebook: Rulebook) -> tuple[DossierBelief, ...]:
    """Return every belief that the opponent's facts or a match moved, the furthest from its prior first."""
    health = health_of(rulebook)
    facts = {key: value for key, value in player.facts.items() if f"opponent.{key}" not in health.kinds}
    earlier = tuple(one.earlier for one in lessons)
    known = EvidenceModel(rulebook).believe(Situation(Moment.BEFORE_MATCH, opponent=facts, earlier=earlier))
    found = [_told(belief, rulebook) for belief in known.all if belief.contributions]
    return tuple(sorted(found, key=lambda b: (-abs(b.probability - b.prior), b.trait, b.wing or "")))


def _told(belief: Belief, rulebook: Rulebook) -> DossierBelief:
    return DossierBelief(
        trait=belief.trait,
        wing=belief.wing,
        title=rulebook.traits[belief.trait].title,
        prior=belief.prior,
        probability=belief.probability,
        chances=belief.chances,
        because=tuple(part.text for part in belief.contributions),
    )


def begun(services: Services, club_id: str, asked: Situation) -> tuple[Situation, tuple[str, ...]]:
    """Return a situation with the named opponent's earlier matches, or without them and a notice that says why.

    Raises Refused if this club has no such opponent.
    """
    opponent_id = asked.opponent_id or ""
    with services.reading(club_id) as work:
        try:
            known_opponent(work, opponent_id)
        except (NotFound, Refused):
            raise refuse("the id of an opponent of your club", "opponent_id", value=opponent_id) from None
        if _playing(services, work, opponent_id)[1]:
            return asked, (CLOSED,)
        return replace(asked, earlier=_earlier(services, work, opponent_id, asked.context.get("surface"))), ()


def told_apart(advice: Advice, asked: Situation, notices: tuple[str, ...] = ()) -> Advice:
    """Return the advice with these notices, and one that names the earlier matches if any of them moved a belief."""
    days = {one.day.isoformat() for one in asked.earlier}
    moved = (part.text[:10] in days for belief in advice.beliefs for part in belief.contributions)
    if days and any(moved):
        notices = (*notices, BEGINS.format(days=days_of(asked.earlier)))
    return replace(advice, notice=(*notices, *advice.notice))


def days_of(earlier: tuple[Earlier, ...]) -> str:
    """Return the matches in words, newest first: "2026-05-01 on clay, 2026-03-08"."""
    named = [f"{one.day.isoformat()} on {one.surface}" if one.surface else one.day.isoformat() for one in earlier]
    more = len(named) - MAX_DAYS
    return ", ".join(named[:MAX_DAYS]) + (f" and {more} more" if more > 0 else "")
