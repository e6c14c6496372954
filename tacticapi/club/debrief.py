"""What a finished match leaves to learn: the score as it went, what was tried, what turned out otherwise.

The last part draws from the same figures for a match that is played, if the event and the players' safety permit it.
Not here: health items (gone when the match ended), other matches (dossier).
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import sqrt
from statistics import NormalDist
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.club.advising import NOT_USED, OUTCOME, USED
from tacticapi.club.health import health_of
from tacticapi.club.scorekeeping import Step, format_of, state_after
from tacticapi.club.services import Services, refuse
from tacticapi.club.situations import permitted, read_kept, situation
from tacticapi.domain.reasoning import Belief
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Moment, Situation, Wing, summed
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.posted import current_tactic
from tacticapi.pricing.baseline import Baseline, baseline
from tacticapi.scoring.formats import Format, Side
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.posterior import beta_nodes, nodes_needed
from tacticapi.scoring.score import State, place
from tacticapi.store import Feedback, Snapshot

SERVE_SPOTS = {"serve.deuce_court_spots": "deuce", "serve.ad_court_spots": "ad"}


@dataclass(frozen=True, slots=True)
class Share:
    """`won` of `of`, with the bounds of the interval; share and bounds are 0 to 1, None without any try."""

    won: int
    of: int
    share: float | None
    low: float | None
    high: float | None


def wilson(won: int, of: int, coverage: float) -> Share:
    """Return the share with its Wilson score interval (Wilson 1927, J. Am. Stat. Assoc. 22:209-212, from memory).

    coverage: how often the interval holds the true share, 0 to 1.
    """
    if of == 0:
        return Share(0, 0, None, None, None)
    z = NormalDist().inv_cdf((1.0 + coverage) / 2.0)
    share, spread = won / of, z * z / of
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = z * sqrt(share * (1.0 - share) / of + spread / (4.0 * of)) / (1.0 + spread)
    return Share(won, of, share, middle - half if won else 0.0, middle + half if won < of else 1.0)


@dataclass(frozen=True, slots=True)
class StoryPoint:
    """One point as it was played; `winner` None marks a score that was set by hand.

    `score` is the one before it; `chance` the chance to win the match after it, `importance` what it was worth in
    the match (the chance if won less the chance if lost), both 0 to 1.
    """

    number: int
    set: int
    game: int
    score: Mapping[str, Any]
    server: Side | None
    winner: Side | None
    importance: float
    chance_before: float
    chance: float


class Chance:
    """The chance of the match from any score, at point chances that stay as they were on the day.

    Their uncertainty is averaged over: `base` are the posteriors of own points won on serve and on return.
    """

    def __init__(self, fmt: Format, base: Baseline) -> None:
        """Prepare one model for all scores of the match."""
        pairs = [(beta.a, beta.b) for beta in (base.serve, base.return_)]
        (serve, self._serve), (ret, self._return) = (beta_nodes(a, b, nodes_needed(a, b)) for a, b in pairs)
        self._model = MatchModel(fmt, serve.reshape(-1, 1), ret)
        self._known: dict[State, tuple[float, float]] = {}

    def at(self, state: State) -> tuple[float, float]:
        """(chance of the match, importance of the next point), both 0 to 1."""
        if state.winner is not None:
            return float(state.winner == "own"), 0.0
        if state not in self._known:
            match = self._model.at(state).match
            self._known[state] = (self._mean(match.now), self._mean(match.importance))
        return self._known[state]

    def _mean(self, chance: Any) -> float:
        return float(self._serve @ chance @ self._return)


def story(steps: Sequence[Step], fmt: Format, base: Baseline) -> tuple[StoryPoint, ...]:
    """Return every entry of the match in order."""
    chance = Chance(fmt, base)
    told = []
    for number, step in enumerate(steps, 1):
        (before, importance), (set_number, game) = chance.at(step.before), place(step.before)
        told.append(
            StoryPoint(
                number=number,
                set=set_number,
                game=game,
                score=step.before.to_wire(),
                server=step.before.server,
                winner=step.winner,
                importance=importance if step.winner else 0.0,
                chance_before=before,
                chance=chance.at(step.after)[0],
            )
        )
    return tuple(told)


def most_important(told: Sequence[StoryPoint], most: int) -> tuple[StoryPoint, ...]:
    """The points that were worth most in the match, the most important first, earlier ones first among equals."""
    played = [point for point in told if point.winner is not None]
    return tuple(sorted(played, key=lambda point: (-round(point.importance, 9), point.number))[:most])


@dataclass(frozen=True, slots=True)
class TacticLine:
    """One tactic of the match.

    `suggested` counts the advice that showed it, `first` how often it stood first; `used` and `not_used` count
    feedback, `reasons` say why not, `outcomes` how it turned out. `worse` is the chance (0 to 1) that it does worse
    than going without it, None when it was not tried; `enough` whether that many tries can tell.
    """

    tactic: str
    title: str
    suggested: int
    first: int
    used: int
    not_used: int
    reasons: tuple[str, ...]
    outcomes: tuple[str, ...]
    tries: Share
    worse: float | None
    enough: bool


def tactic_lines(
    snapshots: Iterable[Snapshot],
    feedback: Sequence[Feedback],
    situation: Situation,
    adviser: Adviser,
) -> tuple[TacticLine, ...]:
    """Return every tactic that was suggested or tried: most tried first, then most suggested, then by id."""
    rulebook, verdicts = adviser.rulebook, adviser.judged(situation)
    suggested, first = _counts(snapshots, rulebook)
    coverage, enough = float(rulebook.defaults["debrief"]["interval"]), int(rulebook.defaults["plan"]["tries"])
    tried = {name: tries for name, tries in summed(situation.tries).items() if tries.tried}
    lines = []
    for tactic in suggested.keys() | tried.keys():
        said = [line for line in feedback if current_tactic(line.tactic, rulebook) == tactic]
        kinds = Counter(line.kind for line in said)
        verdict, tries = verdicts.get(tactic), tried.get(tactic)
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
                tries=wilson(tries.won, tries.tried, coverage) if tries else wilson(0, 0, coverage),
                worse=verdict.worse if verdict else None,
                enough=verdict is not None and verdict.tried >= enough,
            )
        )
    return tuple(sorted(lines, key=lambda line: (-line.tries.of, -line.suggested, line.tactic)))


def _counts(snapshots: Iterable[Snapshot], rulebook: Rulebook) -> tuple[Counter[str], Counter[str]]:
    suggested, first = Counter[str](), Counter[str]()
    for snapshot in snapshots:
        shown = [current_tactic(line["tactic"], rulebook) for line in snapshot.advice["suggestions"]]
        suggested.update(tactic for tactic in shown if tactic)
        first.update(tactic for tactic in shown[:1] if tactic)
    return suggested, first


@dataclass(frozen=True, slots=True)
class BeliefMove:
    """A belief at the start and at the end (0 to 1), with what moved it between, strongest first, in words."""

    trait: str
    wing: Wing | None
    title: str
    start: float
    end: float
    because: tuple[str, ...]

    @property
    def move(self) -> float:
        """How far it moved, with its sign."""
        return self.end - self.start


def belief_moves(situation: Situation, rulebook: Rulebook) -> tuple[BeliefMove, ...]:
    """Return every belief in vocabulary order, none about health; `because` is what this match showed."""
    health = health_of(rulebook)
    clean, model = health.situation(situation), EvidenceModel(rulebook)
    start = model.believe(replace(clean, moment=Moment.BEFORE_MATCH)).all
    end = model.believe(replace(clean, moment=Moment.AFTER_MATCH)).all
    pairs = ((first, last) for first, last in zip(start, end, strict=True) if not health.moved(last))
    return tuple(_move(_of_this_match(last), first.probability, last.probability, rulebook) for first, last in pairs)


def _of_this_match(belief: Belief) -> Belief:
    return replace(belief, contributions=tuple(part for part in belief.contributions if part.observations))


def _move(belief: Belief, start: float, end: float, rulebook: Rulebook) -> BeliefMove:
    because = tuple(part.text for part in belief.contributions)
    return BeliefMove(belief.trait, belief.wing, rulebook.traits[belief.trait].title, start, end, because)


def surprises(moves: Sequence[BeliefMove], most: int) -> tuple[BeliefMove, ...]:
    """Return the beliefs that moved most, either way; those that did not move are none."""
    moved = [move for move in moves if round(move.move, 9) != 0.0]
    return tuple(sorted(moved, key=lambda m: (-round(abs(m.move), 9), m.trait, m.wing or ""))[:most])


@dataclass(frozen=True, slots=True)
class BeginWith:
    """What to start with against this opponent next time, and why, in counts."""

    tactic: str
    title: str
    say: str
    because: tuple[str, ...]
    stop_when: str


@dataclass(frozen=True, slots=True)
class Debrief:
    """What the match leaves. `score` is the last one, `winner` who won by it; None where it is not known."""

    match_id: str
    own: str | None
    opponent: str | None
    started_at: datetime
    ended_at: datetime | None
    score: Mapping[str, Any] | None
    winner: Side | None
    story: tuple[StoryPoint, ...]
    important: tuple[StoryPoint, ...]
    tactics: tuple[TacticLine, ...]
    beliefs: tuple[BeliefMove, ...]
    surprises: tuple[BeliefMove, ...]
    begin_with: tuple[BeginWith, ...]


def debrief(services: Services, club_id: str, match_id: str) -> Debrief:
    """The debrief. Raises NotFound; Refused while the match goes on, since an event may not permit analysis then."""
    with services.reading(club_id) as work:
        kept = read_kept(work, match_id)
        snapshots, feedback = work.snapshots.find(match_id=match_id), work.feedback.of_match(match_id)
    if kept.match.status != "ended":
        raise refuse("a match that has ended", value=kept.match.status)
    figures = services.rulebook.defaults["debrief"]
    known = health_of(services.rulebook).situation(situation(kept, Moment.AFTER_MATCH, services.rulebook))
    base, state = baseline(known, services.rulebook.defaults), state_after(kept.steps)
    told, moves = story(kept.steps, format_of(kept.match), base), belief_moves(known, services.rulebook)
    return Debrief(
        match_id=match_id,
        own=kept.own.label if kept.own else None,
        opponent=kept.opponent.label if kept.opponent else None,
        started_at=kept.match.started_at,
        ended_at=kept.match.ended_at,
        score=state.to_wire() if state else None,
        winner=state.winner if state else None,
        story=told,
        important=most_important(told, figures["important_points"]),
        tactics=tactic_lines(snapshots, feedback, known, services.adviser),
        beliefs=moves,
        surprises=surprises(moves, figures["surprises"]),
        begin_with=begin_with(services, known),
    )


def begin_with(services: Services, known: Situation) -> tuple[BeginWith, ...]:
    """Return the tactics that pay best by everything that the match showed and that was tried in it; no reminders."""
    most = services.rulebook.defaults["debrief"]["begin_with"]
    shown = services.adviser.recommend(known).suggestions
    paying = [one for one in shown if one.worth is not None and one.worth.point > 0]
    return tuple(
        BeginWith(one.tactic, one.title, one.say, tuple(reason.text for reason in one.because), one.stop_when)
        for one in paying[:most]
    )


def score_story(
    services: Services, club_id: str, match_id: str, moment: Moment | None
) -> tuple[tuple[StoryPoint, ...], tuple[StoryPoint, ...]]:
    """Return the score's story so far, and the points of it that mattered most. Raises as `permitted`."""
    kept, known = permitted(services, club_id, match_id, moment)
    defaults = services.rulebook.defaults
    told = story(kept.steps, format_of(kept.match), baseline(known, defaults))
    return told, most_important(told, int(defaults["debrief"]["important_points"]))


def seen_beliefs(services: Services, club_id: str, match_id: str, moment: Moment | None) -> tuple[BeliefMove, ...]:
    """Return the beliefs that were moved, from prior to now, most first, none of health. Raises as `permitted`."""
    _, known = permitted(services, club_id, match_id, moment)
    rulebook, health = services.rulebook, health_of(services.rulebook)
    beliefs = EvidenceModel(rulebook).believe(health.situation(known)).all
    moves = [
        # rounded as in the JSON, so that picture and answer never differ
        _move(belief, round(belief.prior, 3), round(belief.probability, 3), rulebook)
        for belief in beliefs
        if belief.contributions and not health.moved(belief)
    ]
    return tuple(sorted(moves, key=lambda move: (-round(abs(move.move), 9), move.trait, move.wing or "")))


def serve_counts(
    services: Services, club_id: str, match_id: str, moment: Moment | None, serve: str | None = None
) -> Mapping[str, Mapping[str, float]]:
    """Return the opponent's serves by court and spot, all or those of `serve` alone. Raises as `permitted`."""
    _, known = permitted(services, club_id, match_id, moment)
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for seen in known.observations:
        if seen.what in SERVE_SPOTS and seen.counts and serve in (None, seen.serve):
            found[SERVE_SPOTS[seen.what]].update(seen.counts)
    return found
