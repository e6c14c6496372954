"""Summarize a finished match: how the score developed, the tactics tried and the surprises, but no health items."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import sqrt
from statistics import NormalDist
from typing import Annotated, Any

from tacticapi.advice import Adviser
from tacticapi.advice.plan import best_tried, is_condemned, shift_words, tries_words, verdict
from tacticapi.advice.recommend import Judge
from tacticapi.club.advising import NOT_USED, OUTCOME, OUTCOMES, USED
from tacticapi.club.dossier import BeginWith, may_be_known
from tacticapi.club.health import health_of
from tacticapi.club.scorekeeping import Step, format_of, point_played, state_after
from tacticapi.club.services import Services, refuse
from tacticapi.club.situations import KeptMatch, permitted, read_kept, situation
from tacticapi.domain import Chance, Exact, Id, Score, Thousandth
from tacticapi.domain.reasoning import Belief, OfWing
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import (
    Game,
    HeldBack,
    Moment,
    PointsPlayed,
    Situation,
    Tries,
    Verdict,
    summed,
    tries_since,
)
from tacticapi.evidence.beliefs import Beliefs
from tacticapi.evidence.entries import CHANGE, game_of
from tacticapi.posted import current_tactic
from tacticapi.pricing.baseline import Judged, posteriors
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.scoring.formats import Format, Side
from tacticapi.scoring.score import State, place
from tacticapi.store import Feedback, Snapshot

SERVE_SPOTS = {"serve.deuce_court_spots": "deuce", "serve.ad_court_spots": "ad"}


@dataclass(frozen=True, slots=True)
class TriedShare:
    """The share of points won in a few tries, with its interval."""

    won: Annotated[int, "Points won."]
    of: Annotated[int, "Points tried."]
    share: Annotated[Thousandth | None, "won / of; absent without tries."]
    low: Annotated[Thousandth | None, "Lower bound of the 80 % interval; absent without tries."]
    high: Annotated[Thousandth | None, "Upper bound of the 80 % interval; absent without tries."]


def wilson(won: int, of: int, coverage: float) -> TriedShare:
    """Return the share and its Wilson score interval at this coverage (Wilson 1927, JASA 22:209-212, from memory)."""
    if of == 0:
        return TriedShare(0, 0, None, None, None)
    z = NormalDist().inv_cdf((1.0 + coverage) / 2.0)
    share, spread = won / of, z * z / of
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = z * sqrt(share * (1.0 - share) / of + spread / (4.0 * of)) / (1.0 + spread)
    return TriedShare(won, of, share, middle - half if won else 0.0, middle + half if won < of else 1.0)


@dataclass(frozen=True, slots=True)
class StoryPoint:
    """One score entry and its effect on the chance of winning the match."""

    number: Annotated[int, "The entry's number in the match, from 1."]
    set: Annotated[int, "Set number, counting from 1."]
    game: Annotated[int, "Number of the game in the set, from 1."]
    score: Annotated[Score, "The score before the point: sets, games, points, server."]
    server: Annotated[Side | None, "Who served; absent if unknown."]
    winner: Annotated[Side | None, "Who won it; absent if the score was set by hand."]
    importance: Annotated[Exact, "The chance of winning the match if this point is won, minus that if it is lost."]
    chance_before: Annotated[Exact, "The chance of winning the match before the point; for the first entry, the prior."]
    chance: Annotated[Exact, "The chance of winning the match after the point."]


def story(
    steps: Sequence[Step], fmt: Format, level_gap: str | None, defaults: Mapping[str, Any]
) -> tuple[StoryPoint, ...]:
    """Return every score entry with the chances that live advice gave at the time; a level gap of None means even."""
    told: list[StoryPoint] = []
    played = PointsPlayed()
    at = MatchPricer(fmt, steps[0].before if steps else State(fmt), posteriors(level_gap, None, defaults))
    for number, step in enumerate(steps, 1):
        before, played = at, played + point_played(step)
        at = MatchPricer(fmt, step.after, posteriors(level_gap, played, defaults))
        set_number, game = place(step.before)
        told.append(
            StoryPoint(
                number=number,
                set=set_number,
                game=game,
                score=step.before.to_wire(),
                server=step.before.server,
                winner=step.winner,
                importance=before.importance_in_match if step.winner else 0.0,
                chance_before=before.now,
                chance=at.now if step.after.winner is None else float(step.after.winner == "own"),
            )
        )
    return tuple(told)


def most_important(told: Sequence[StoryPoint], most: int) -> tuple[StoryPoint, ...]:
    """Return at most `most` of the most important points; of two equally important points, the earlier comes first."""
    played = [point for point in told if point.winner is not None]
    return tuple(sorted(played, key=lambda point: (-round(point.importance, 9), point.number))[:most])


@dataclass(frozen=True, slots=True)
class TacticLine:
    """How often one tactic was suggested, used and tried, and how it turned out."""

    tactic: Annotated[str, "Id of the tactic."]
    title: Annotated[str, "The tactic's title."]
    suggested: Annotated[int, "Number of pieces of advice that showed it."]
    first: Annotated[int, "Number of pieces of advice that showed it first."]
    used: Annotated[int, "Number of feedback entries saying it was used."]
    not_used: Annotated[int, "Number of feedback entries saying it was not used."]
    reasons: Annotated[tuple[str, ...], "Why it was not used, as posted."]
    outcomes: Annotated[tuple[Annotated[str, OUTCOMES, "An outcome."], ...], "How it turned out, as posted."]
    tries: Annotated[TriedShare, ""]
    worse: Annotated[Thousandth | None, "The chance that it does worse than playing without it; absent if not tried."]
    enough: Annotated[bool, "Whether there were enough tries to judge it."]


def tactic_lines(
    snapshots: Iterable[Snapshot],
    feedback: Sequence[Feedback],
    tries: Iterable[Tries],
    judge: Judge,
    rulebook: Rulebook,
) -> tuple[TacticLine, ...]:
    """Return every tactic that was suggested or tried: most tried first, then most suggested, then by id."""
    shown = [[current_tactic(line["tactic"], rulebook) for line in one.advice["suggestions"]] for one in snapshots]
    suggested = Counter(tactic for each in shown for tactic in each if tactic)
    first = Counter(tactic for each in shown for tactic in each[:1])
    coverage, enough = float(rulebook.defaults["debrief"]["interval"]), int(rulebook.defaults["plan"]["tries"])
    tried = {one.tactic for one in tries if one.tried}
    lines = []
    for tactic in suggested.keys() | tried:
        said = [line for line in feedback if current_tactic(line.tactic, rulebook) == tactic]
        kinds, told = Counter(line.kind for line in said), judge(tactic, tries)
        lines.append(
            TacticLine(
                tactic=tactic,
                title=rulebook.tactics[tactic].title,
                suggested=suggested[tactic],
                first=first[tactic],
                used=kinds[USED],
                not_used=kinds[NOT_USED],
                reasons=tuple(line.reason for line in said if line.kind == NOT_USED and line.reason),
                outcomes=tuple(line.reason for line in said if line.kind == OUTCOME and line.reason),
                tries=wilson(told.won, told.tried, coverage),
                worse=told.worse if told.tried else None,
                enough=told.tried >= enough,
            )
        )
    return tuple(sorted(lines, key=lambda line: (-line.tries.of, -line.suggested, line.tactic)))


@dataclass(frozen=True, slots=True)
class Played:
    """A tactic, the games in which it was played, and its results."""

    tactic: Annotated[str, "Id of the tactic."]
    title: Annotated[str, "The tactic's title."]
    since: Annotated[Game | None, "The first game in which it was played; absent if unknown."]
    until: Annotated[Game | None, "The last game in which it was played; absent if unknown."]
    tried: Annotated[int, "Points on which the tactic was carried out in these games."]
    won: Annotated[int, "How many of these points were won."]
    verdict: Annotated[Verdict | None, "The verdict on these tries; absent if it was chosen but not tried."]
    why: Annotated[str, "The reason in counts; empty if it was not tried."]


def what_was_played(
    tries: Iterable[Tries], judge: Judge, change: Game | None, rulebook: Rulebook
) -> tuple[Played, ...]:
    """Return every tactic with its games in order; `change` is the game in which the opponent last changed play."""
    all_of: list[list[Tries]] = []
    now: dict[str, list[Tries]] = {}
    for one in tries:
        if not one.tried:
            now = {name: run for name, run in now.items() if name == one.tactic}
        if one.tactic not in now:
            now[one.tactic] = []
            all_of.append(now[one.tactic])
        now[one.tactic].append(one)
    told = [_played(run, judge(run[0].tactic, run), change, rulebook) for run in all_of]
    return tuple(sorted(told, key=lambda one: one.since or (0, 0)))


def _played(run: Sequence[Tries], told: Judged, change: Game | None, rulebook: Rulebook) -> Played:
    games = [one.played_in for one in run if one.played_in]
    title = rulebook.tactics[told.tactic].title
    word, why = verdict(Situation(Moment.AFTER_MATCH), told, frozenset(), rulebook) if told.tried else (None, "")
    since = summed(tries_since(run, change)).get(told.tactic)
    if since and 0 < since.tried < told.tried:
        why += f"; {since.won} of {since.tried} since their play changed"
    first, last = min(games, default=None), max(games, default=None)
    return Played(told.tactic, title, first, last, told.tried, told.won, word, why)


@dataclass(frozen=True, slots=True)
class TheirChange:
    """A change in the opponent's play."""

    since: Annotated[Game | None, "The first game in which they played this way; absent if unknown."]
    what: Annotated[str, "What changed: found in the counts per game, or as posted."]
    at: Annotated[str | None, "The score when that game began, own first; absent if unknown."]
    after: Annotated[str | None, "How the game or set before it ended; absent if unknown."]


def their_changes(
    situation: Situation, beliefs: Beliefs, steps: Sequence[Step], rulebook: Rulebook
) -> tuple[TheirChange, ...]:
    """Return every change in the opponent's play in order, undated changes first; only playing facts are used."""
    shifts = (one for one in beliefs.shifts if may_be_known(one.what, rulebook))
    found: list[tuple[Game | None, str]] = [(one.since, shift_words(one, rulebook)) for one in shifts]
    found += [
        (game_of(one), str(one.value or one.note or "a change was noted without a description"))
        for one in situation.observations
        if one.what == CHANGE and one.seen is not False
    ]
    in_order = sorted(found, key=lambda one: one[0] or (0, 0))
    return tuple(TheirChange(game, what, *_score_at(game, steps)) for game, what in in_order)


GAME_ENDED = {
    ("own", "own"): "after you held serve",
    ("own", "opponent"): "after you lost your serve",
    ("opponent", "own"): "after you broke their serve",
    ("opponent", "opponent"): "after they held serve",
    (None, "own"): "after you won a game",
    (None, "opponent"): "after you lost a game",
}  # by server and winner


def _score_at(game: Game | None, steps: Sequence[Step]) -> tuple[str | None, str | None]:
    """Return the score when a game began, such as "6-4 1-2", and how the previous game ended; None if unknown."""
    at = next((n for n, step in enumerate(steps) if place(step.before) == game), None)
    if at is None:
        return None, None
    state, last = steps[at].before, steps[at - 1] if at else None
    score = " ".join(f"{own}-{opponent}" for own, opponent in (*state.sets, state.games))
    if last is None or last.winner is None or state.points != (0, 0):
        return score, None
    if last.before.sets != state.sets:
        return score, "after you won the set" if last.winner == "own" else "after you lost the set"
    return score, GAME_ENDED[last.before.server, last.winner]


@dataclass(frozen=True, slots=True)
class BeliefMove:
    """A belief before and after the match."""

    trait: Annotated[str, "Id of the trait."]
    wing: OfWing
    title: Annotated[str, "Title of the trait."]
    start: Annotated[Chance, "The trait's probability before the match."]
    end: Annotated[Chance, "The trait's probability after the match."]
    because: Annotated[tuple[str, ...], "What changed it, in counts, strongest first."]

    @property
    def move(self) -> float:
        """Return the signed change in probability."""
        return self.end - self.start


def belief_moves(situation: Situation, beliefs: Beliefs, adviser: Adviser) -> tuple[BeliefMove, ...]:
    """Return every belief except those about health, in vocabulary order, with the evidence from this match."""
    rulebook, health = adviser.rulebook, health_of(adviser.rulebook)
    start = adviser.evidence.believe(replace(situation, moment=Moment.BEFORE_MATCH)).all
    pairs = ((first, last) for first, last in zip(start, beliefs.all, strict=True) if not health.moved(last))
    return tuple(_move(last, first.probability, last.probability, rulebook) for first, last in pairs)


def _move(belief: Belief, start: float, end: float, rulebook: Rulebook, *, all_matches: bool = False) -> BeliefMove:
    because = tuple(part.text for part in belief.contributions if part.observations or all_matches)
    return BeliefMove(belief.trait, belief.wing, rulebook.traits[belief.trait].title, start, end, because)


def surprises(moves: Sequence[BeliefMove], most: int) -> tuple[BeliefMove, ...]:
    """Return the beliefs that moved most, up or down; unmoved beliefs are excluded."""
    moved = [move for move in moves if round(move.move, 9) != 0.0]
    return tuple(sorted(moved, key=lambda m: (-round(abs(m.move), 9), m.trait, m.wing or ""))[:most])


@dataclass(frozen=True, slots=True)
class Debrief:
    """The lessons from a finished match."""

    match_id: Annotated[Id, "Id of the match."]
    own: Annotated[str | None, "Label of your player; absent if erased."]
    opponent: Annotated[str | None, "Label of the opponent; absent if erased."]
    started_at: Annotated[datetime, "When the match started."]
    ended_at: Annotated[datetime | None, "When the match was ended."]
    score: Annotated[Score | None, "The final score: sets, games, points, server; absent if no score was kept."]
    winner: Annotated[Side | None, "The winner by that score; absent if undecided."]
    level_gap: str | None
    story: Annotated[tuple[StoryPoint, ...], "Every entry of the score, in order."]
    important: Annotated[tuple[StoryPoint, ...], "The most important points, the most important first."]
    played: Annotated[tuple[Played, ...], "Every tactic that was chosen or tried, with its games, in order."]
    their_changes: Annotated[tuple[TheirChange, ...], "The opponent's changes of play; undated ones come first."]
    tactics: Annotated[tuple[TacticLine, ...], "Every tactic that was suggested or tried, the most tried first."]
    beliefs: Annotated[tuple[BeliefMove, ...], "Every belief except those about health, in the order of /v1/traits."]
    surprises: Annotated[tuple[BeliefMove, ...], "The beliefs that moved most."]
    begin_with: Annotated[tuple[BeginWith, ...], "What to start with next time: first what worked, then other ideas."]


def debrief(services: Services, club_id: str, match_id: str) -> Debrief:
    """Return the debrief. Raises NotFound; Refused during the match, because the event may not permit analysis."""
    with services.reading(club_id) as work:
        kept = read_kept(work, match_id)
        snapshots, feedback = work.snapshots.find(match_id=match_id), work.feedback.of_match(match_id)
    if kept.match.status != "ended":
        raise refuse("a match that has ended", value=kept.match.status)
    rulebook, adviser = services.rulebook, services.adviser
    figures, state = rulebook.defaults["debrief"], state_after(kept.steps)
    known = health_of(rulebook).situation(situation(kept, Moment.AFTER_MATCH, rulebook))
    beliefs, judge = adviser.evidence.believe(known), adviser.judge(known)
    told, moves = _story(kept, known, rulebook), belief_moves(known, beliefs, adviser)
    return Debrief(
        match_id=match_id,
        own=kept.own.label if kept.own else None,
        opponent=kept.opponent.label if kept.opponent else None,
        started_at=kept.match.started_at,
        ended_at=kept.match.ended_at,
        score=state.to_wire() if state else None,
        winner=state.winner if state else None,
        level_gap=known.context.get("level_gap"),
        story=told,
        important=most_important(told, figures["important_points"]),
        played=what_was_played(known.tries, judge, beliefs.change, rulebook),
        their_changes=their_changes(known, beliefs, kept.steps, rulebook),
        tactics=tactic_lines(snapshots, feedback, known.tries, judge, rulebook),
        beliefs=moves,
        surprises=surprises(moves, figures["surprises"]),
        begin_with=begin_with(known, beliefs.change, judge, adviser),
    )


def begin_with(known: Situation, change: Game | None, judge: Judge, adviser: Adviser) -> tuple[BeginWith, ...]:
    """Return what to start with next time: what worked best in this match, then what should pay best on its evidence.

    Reminders and tactics that did badly when tried are left out. Empty while only safety advice may be shown.
    """
    rulebook = adviser.rulebook
    rule, tactics = rulebook.defaults["plan"], rulebook.tactics
    advice = adviser.recommend(replace(known, score=None))
    if advice.plan is None:
        return ()
    told = {name: judge(name, known.tries) for name in summed(known.tries)}
    since = tries_since(known.tries, change)
    out = {one.tactic for one in advice.held_back if one.reason is HeldBack.COUNTER_INDICATION}
    out |= {name for name, one in told.items() if is_condemned(one, rule) or is_condemned(judge(name, since), rule)}
    shown = {one.tactic: one for one in advice.suggestions}
    because: dict[str, tuple[str, ...]] = {one.tactic: (tries_words(one),) for one in best_tried(told.values(), rule)}
    for one in shown.values():
        if one.worth is not None and one.worth.point > 0:
            because.setdefault(one.tactic, tuple(reason.text for reason in one.because))
    chosen = [tactics[name] for name in because if name not in out][: int(rulebook.defaults["debrief"]["begin_with"])]
    return tuple(
        BeginWith(one.id, one.title, (shown.get(one.id) or one).say, because[one.id], one.stop_when) for one in chosen
    )


def _story(kept: KeptMatch, known: Situation, rulebook: Rulebook) -> tuple[StoryPoint, ...]:
    return story(kept.steps, format_of(kept.match), known.context.get("level_gap"), rulebook.defaults)


def score_story(
    services: Services, club_id: str, match_id: str, moment: Moment | None
) -> tuple[tuple[StoryPoint, ...], tuple[StoryPoint, ...]]:
    """Return how the score has developed so far, and the most important points. Raises like `permitted`."""
    kept, known = permitted(services, club_id, match_id, moment)
    told = _story(kept, known, services.rulebook)
    return told, most_important(told, int(services.rulebook.defaults["debrief"]["important_points"]))


def seen_beliefs(services: Services, club_id: str, match_id: str, moment: Moment | None) -> tuple[BeliefMove, ...]:
    """Return moved beliefs, largest move first, except those about health. Raises like `permitted`."""
    _, known = permitted(services, club_id, match_id, moment)
    rulebook, health = services.rulebook, health_of(services.rulebook)
    beliefs = services.adviser.evidence.believe(health.situation(known)).all
    moves = [
        # rounded as in the JSON, so the picture and the response never differ
        _move(belief, round(belief.prior, 3), round(belief.probability, 3), rulebook, all_matches=True)
        for belief in beliefs
        if belief.contributions and not health.moved(belief)
    ]
    return tuple(sorted(moves, key=lambda move: (-round(abs(move.move), 9), move.trait, move.wing or "")))


def serve_counts(
    services: Services, club_id: str, match_id: str, moment: Moment | None, serve: str | None = None
) -> Mapping[str, Mapping[str, float]]:
    """Count the opponent's serves by court and spot; with `serve`, only that serve. Raises like `permitted`."""
    _, known = permitted(services, club_id, match_id, moment)
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for seen in known.observations:
        if seen.what in SERVE_SPOTS and seen.counts and serve in (None, seen.serve):
            found[SERVE_SPOTS[seen.what]].update(seen.counts)
    return found
