"""The advised player: turns notes into a situation, asks for advice, and plays what it may show at that moment.

The only part of the rehearsal that knows the recommender. All that the others get is `Told`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np
from scipy.special import ndtr

from tacticapi.advice import Adviser
from tacticapi.domain.advice import Suggestion
from tacticapi.domain.reasoning import Belief
from tacticapi.domain.situation import Moment, Observation, PointsPlayed, Situation, Tries, Way, Wing
from tacticapi.evidence.beliefs import Beliefs as Believed
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.gaussian import centre
from tacticapi.evidence.profile import Fit
from tacticapi.pricing.baseline import baseline
from tacticapi.pricing.price import PriceBook, Prices
from tacticapi.rulebook.load import load
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.reading import read_score
from tests.rehearsal.old_prices import Beliefs
from tests.rehearsal.outcome import Line, Stage
from tests.rehearsal.world.match import OTHER, OWN, Point, Score
from tests.rehearsal.world.pairing import Chances, Pairing
from tests.rehearsal.world.shots import BACKHAND, COURTS, FOREHAND, SIDES, SPOTS
from tests.rehearsal.world.tactics import CHANGES, Chosen, marks, options, serve_marks

MOMENTS = {Stage.WARM_UP: Moment.AFTER_WARM_UP, Stage.FOUR_GAMES: Moment.CHANGE_OF_ENDS, Stage.SET: Moment.SET_BREAK}
WAYS = (Way.COUNTS, Way.COUNT, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)
FORMAT: Final = {"sets": 3}
BEST_OF_THREE: Final = Format.from_wire(FORMAT)
AWAY: Final = "serve-away-from-lean"
ACROSS: Final = "wide-serve-open-court"  # its price aims at the corner that it opens, this world at the wing it reaches


@dataclass(frozen=True, slots=True)
class Record:
    """What is known when advice is asked for: notes in plain form, the points so far, the score, tactics tried."""

    notes: Sequence[Mapping[str, Any]]
    points: Sequence[Point] = ()
    score: Mapping[str, Any] | None = None
    tries: tuple[Tries, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """What the advice said: probabilities before and after what was seen, lines in order, prices of all options.

    `backhand_weaker` is the chance before and after that the backhand misses more than the forehand.
    """

    priors: Beliefs
    beliefs: Beliefs
    backhand_weaker: tuple[float, float]
    lines: tuple[Line, ...] = ()
    prices: tuple[float, ...] = ()


def adviser() -> Adviser:
    """Return an adviser with the published rules."""
    return Adviser(load())


def ask(adviser: Adviser, pairing: Pairing, stage: Stage, record: Record) -> Told:
    """Return the advice on what has been written down so far."""
    situation = _situation(pairing, stage, record)
    advice = adviser.recommend(situation)
    believed = adviser.evidence.believe(situation)
    lines = tuple(line_of(suggestion, record.notes) for suggestion in advice.suggestions)
    free = prices(adviser, situation, believed)
    return Told(*_probabilities(advice.beliefs), _weaker(adviser, believed), lines, free)


def line_of(suggestion: Suggestion, notes: Sequence[Mapping[str, Any]]) -> Line:
    """Return a suggestion as it is played here, with what it claims."""
    play, worth = Chosen(suggestion.tactic, aim_of(suggestion, notes)), suggestion.worth
    return Line(play, worth.point, worth.match_low, worth.match_high, worth.pays_in) if worth else Line(play)


def believe(adviser: Adviser, pairing: Pairing, stage: Stage, record: Record) -> Told:
    """Return what the advice would believe, without working it out."""
    believed = adviser.evidence.believe(_situation(pairing, stage, record))
    return Told(*_probabilities(believed.all), _weaker(adviser, believed))


def _probabilities(beliefs: Iterable[Belief]) -> tuple[Beliefs, Beliefs]:
    keyed = {(b.trait, b.wing.value if b.wing else None): b for b in beliefs}
    return {key: b.prior for key, b in keyed.items()}, {key: b.probability for key, b in keyed.items()}


def _situation(pairing: Pairing, stage: Stage, record: Record) -> Situation:
    hands = {True: "left", False: "right"}
    return Situation(
        moment=MOMENTS[stage],
        context={"coaching": "permitted", "device": "coach", "format": FORMAT},
        own={"handedness": hands[pairing.user.left], **pairing.user.ratings},
        opponent={"handedness": hands[pairing.nature.left], "backhand_type": pairing.nature.backhand},
        observations=tuple(_observation(i, note) for i, note in enumerate(record.notes)),
        score=record.score,
        points_played=_points_played(record.points) if record.points else None,
        tries=record.tries,
    )


def backhand_weaker(model: EvidenceModel, fit: Fit) -> float:
    """Return the chance that the backhand misses more than the forehand, by the kinds that count their errors."""
    lines = [
        model.profiles.rulebook.kinds[f"rally.{side}_errors"].measures[0] for side in (SIDES[BACKHAND], SIDES[FOREHAND])
    ]
    sums = [fit.latent.vector(line.loads, None) for line in lines]
    usual = [centre(line.usual[fit.latent.level], float(np.sqrt(s @ s))) for line, s in zip(lines, sums, strict=True)]
    means, variances, _ = fit.of((sums[0] - sums[1]).reshape(1, -1))
    return float(ndtr((usual[0] - usual[1] + means[0]) / np.sqrt(variances[0])))


def _weaker(adviser: Adviser, beliefs: Believed) -> tuple[float, float]:
    """Return that chance before anything was seen and now."""
    model = adviser.evidence
    nothing = model.profiles.fit((), beliefs.opponent.latent.level, nervous=False)
    return backhand_weaker(model, nothing), backhand_weaker(model, beliefs.opponent)


@cache
def _book(adviser: Adviser) -> PriceBook:
    return PriceBook(adviser.rulebook, adviser.evidence.profiles)


def prices(adviser: Adviser, situation: Situation, believed: Believed) -> tuple[float, ...]:
    """Return what each option of the world gains a point by its price, whatever its conditions ask for."""
    book = _book(adviser)
    gains = Prices(book, believed, situation, baseline(situation, adviser.rulebook.defaults)).after
    return tuple(max((float(gains[row]) for row in rows_of(book, option)), default=0.0) for option in options())


def rows_of(book: PriceBook, option: Chosen) -> list[int]:
    """Return the rows of the book that price an option: the wing that it goes to here, or any if it goes to none."""
    change = CHANGES[option.tactic]
    goes = any(side is not None for side in (*(p.to for p in change.plays), *(s.reach for s in change.serves)))
    aim = 1 - option.aim if option.tactic == ACROSS else option.aim
    rows = [(option.tactic, wing) for wing in (None, *((Wing(SIDES[aim]),) if goes else Wing))]
    return [book.place[row] for row in rows if row in book.place]


def _observation(index: int, note: Mapping[str, Any]) -> Observation:
    said = {key: value for key, value in note.items() if key != "wing"}
    way = next(way for way in WAYS if way.value in said)
    return Observation(index=index, way=way, wing=Wing(note["wing"]) if "wing" in note else None, **said)


def _points_played(points: Sequence[Point]) -> PointsPlayed:
    served, returned = ([p.winner == OWN for p in points if p.server == server] for server in (OWN, OTHER))
    return PointsPlayed(sum(served), len(served), sum(returned), len(returned))


def aim_of(suggestion: Suggestion, notes: Sequence[Mapping[str, Any]]) -> int:
    """Return the wing at which a suggestion is played here."""
    if suggestion.tactic == AWAY:
        return guarded(notes)
    aims = CHANGES[suggestion.tactic].aims if suggestion.tactic in CHANGES else (BACKHAND,)
    wings = [rest.wing for rest in suggestion.rests_on if rest.wing is not None]
    wings += [target.wing for target in suggestion.targets]
    wished = FOREHAND if wings and wings[0] is Wing.FOREHAND else BACKHAND
    wished = 1 - wished if wings and suggestion.tactic == ACROSS else wished
    return wished if wished in aims else aims[0]


def guarded(notes: Sequence[Mapping[str, Any]]) -> int:
    """Return the side on return that was noted as guarded last; the backhand if none was."""
    sides = [note["value"] for note in notes if note["what"] == "return.shading" and note["value"] != "none"]
    return FOREHAND if sides and sides[-1] == "forehand" else BACKHAND


def leaned(notes: Sequence[Mapping[str, Any]]) -> tuple[int, int] | None:
    """Return the spot to lean to by court: the one noted most often; None if no serve was noted for a court."""
    spots = []
    for court in COURTS:
        kinds = (f"serve.{court}_court_spots", "warmup.serve_spots")
        tallies = [[n["counts"] for n in notes if n["what"] == kind] for kind in kinds]
        counted = next((found for found in tallies if found), [])
        totals = [sum(tally.get(spot, 0) for tally in counted) for spot in SPOTS]
        if not any(totals):
            return None
        spots.append(totals.index(max(totals)))
    return spots[0], spots[1]


def tries_of(chosen: Sequence[Chosen], points: Sequence[Point], pairing: Pairing) -> tuple[Tries, ...]:
    """Count how often each tactic was played, and the points won by it: points with a play or serve of its own."""
    found = []
    for one in chosen:
        change = CHANGES.get(one.tactic)
        if change is None:
            continue
        plays = [marks(p, one.aim).tolist() for p in change.plays if p.by > 1]
        serves = [serve_marks(s, one.aim, pairing.nature.left) for s in change.serves if s.by > 1]
        tried = [p for p in points if _shows(p, plays, serves)]
        found.append(Tries(one.tactic, len(tried), sum(p.winner == OWN for p in tried)))
    return tuple(t for t in found if t.tried)


def _shows(point: Point, plays: Sequence[Sequence[bool]], serves: Sequence[Any]) -> bool:
    served = point.server == OWN and point.serve is not None
    if served and point.serve and any(s[min(point.faults, 1), point.court][point.serve] for s in serves):
        return True
    return any(stroke.by == OWN and any(marked[stroke.play] for marked in plays) for stroke in point.strokes)


def match_chances(score: Score, chances: Sequence[Chances]) -> list[float]:
    """Return chances to win a best of three from the start of a game, one for each pair of chances to win a point."""
    model = MatchModel(BEST_OF_THREE, np.array([c.serve for c in chances]), np.array([c.return_ for c in chances]))
    return [float(x) for x in np.asarray(model.at(read_score(BEST_OF_THREE, score.wire())).match.now)]
