"""Price every tactic that sends a ball: its gain per point over all points, and how certain that is.

    gain = share x (as_meant x sum of (value of the ball sent - of the ball replaced) + what it does to our own strokes)
           - costs

The better the opponent is at what a ball finds, the less it is worth: `value` of a point per unit of log-odds. So a
price is linear in the opponent's profile and has a mean and a variance. Own-serve rules move our own shares (first in x
won behind it + missed x not doubled x won in play); this is not linear, so its variance uses the gradient at the mean.
Against the usual player, the part that depends on the opponent is 0. Every number comes from the rule or from
rules/balls.yaml.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from scipy.special import expit, ndtr

from tacticapi.domain.reasoning import Firing, Priced
from tacticapi.domain.rules import MOVES, USUAL_LEVEL, FactKind, Level, Measure, Price, Rulebook, Tactic, Trait
from tacticapi.domain.situation import Moment, Situation, Tries, Wing, summed, tries_since
from tacticapi.evidence.beliefs import Beliefs
from tacticapi.evidence.entries import Pool
from tacticapi.evidence.gaussian import Array, centre
from tacticapi.evidence.profile import MIDDLE, Fit, Latent, ProfileModel
from tacticapi.pricing.baseline import Baseline, Judged, judged

COUNTED_BY = ("first_serves_in", "first_serve_points_won", "double_faults", "second_serve_points_won")
"""The record that shows each of our serve shares: in, won behind the first, double faults, won on the second."""
SHARES = len(COUNTED_BY)
NOTHING = 1e-9
MAX_RATING = 4.0
STEP = 1e-6  # log-odds, for gradients
Row = tuple[str, Wing | None]
"""A tactic, and the wing that it aims at if its price depends on the wing."""


class Term(NamedTuple):
    """One part of a price: its field, what it concerns, how often, what it replaces, and points per tried point."""

    field: str
    name: str
    times: float
    points: float
    wing: Wing | None = None
    instead_of: str | None = None


class PriceBook:
    """One rulebook's prices, precomputed for every level."""

    def __init__(self, rulebook: Rulebook, profiles: ProfileModel) -> None:
        """Compute the slopes of every priced tactic, with one row per wing if it aims at a wing."""
        self.rulebook, self._balls = rulebook, rulebook.balls
        self.latents, self.rating_spread = profiles.latents, profiles.rating_spread
        self.figures: Mapping[str, Any] = rulebook.defaults["prices"]
        self._value = float(self.figures["value"])
        self.tries = int(rulebook.defaults["plan"]["tries"])
        self.rows: list[Row] = []
        self.of: list[Price] = []
        for tactic in rulebook.tactics.values():
            if tactic.price:
                for wing in tuple(Wing) if tactic.price.aims else (None,):
                    self.rows.append((tactic.id, wing))
                    self.of.append(tactic.price)
        self.place = {row: place for place, row in enumerate(self.rows)}
        self.places: dict[str, list[int]] = {}
        for place, (name, _) in enumerate(self.rows):
            self.places.setdefault(name, []).append(place)
        self.brought_up = {name: self._brought_up(name) for name in self.places}
        self.share = np.array([price.share for price in self.of])
        self.costs = np.array([price.costs for price in self.of])
        self.spot = np.array([price.spot for price in self.of])
        self.strokes_read = sorted({stroke for price in self.of for stroke in price.own})
        own = [[price.own.get(stroke, 0.0) for stroke in self.strokes_read] for price in self.of]
        self._own = np.array(own).reshape(len(self.rows), len(self.strokes_read)) * self._stroke_value
        self.moving = [place for place, price in enumerate(self.of) if price.moves]
        self._moves = np.array([_in_order(self.of[place].moves) for place in self.moving]).reshape(-1, len(MOVES))
        self.slopes = {level: self._laid_out(latent) for level, latent in profiles.latents.items()}
        kinds = rulebook.kinds
        read = [kinds[f"own.{key}"].measures for key in self.strokes_read]
        self._measured = [place for place, measures in enumerate(read) if measures]
        measured = [measures[0] for measures in read if measures]
        records = [kinds[f"record.{name}"].measures[0] for name in COUNTED_BY]
        own_sums = {level: _summed(latent, [*measured, *records]) for level, latent in profiles.latents.items()}
        self.own_sums = {level: sums for level, (sums, _) in own_sums.items()}
        self._spreads = {level: spreads[: len(measured)] for level, (_, spreads) in own_sums.items()}
        self._serves = {
            level: np.array(
                [centre(m.usual[level], s) for m, s in zip(records, spreads[-SHARES:].tolist(), strict=True)]
            )
            for level, (_, spreads) in own_sums.items()
        }

    def _brought_up(self, tactic: str) -> list[int]:
        wings = (None, *_aimed_at(self.rulebook.tactics[tactic], self.rulebook.traits))
        return [place for place in self.places[tactic] if self.rows[place][1] in wings]

    @property
    def _stroke_value(self) -> float:
        return self._value * float(self.figures["own_spread"])

    def _laid_out(self, latent: Latent) -> Array:
        slopes = np.zeros((len(self.rows), len(latent.dims)))
        for place, row in enumerate(self.rows):
            for _, sums in self.linear(row, latent):
                slopes[place] += sums
        return slopes

    def linear(self, row: Row, latent: Latent) -> Iterator[tuple[Term, Array]]:
        """Yield a row's terms that depend on the opponent's profile, as sums over it, per tried point."""
        _, aimed = row
        price = self.of[self.place[row]]
        meant = float(self.figures["as_meant"]) * self._value
        for sent in price.sends:
            wing = sent.wing.wing(aimed)
            finds = self._finds(sent.instead_of, None, latent) - self._finds(sent.ball, wing, latent)
            term = Term("sends", sent.ball, sent.per_point, 0.0, wing, sent.instead_of)
            yield term, meant * sent.per_point * finds
        for name, balls in price.gives.items():
            yield Term("gives", name, balls, 0.0), self._value * balls * latent.vector({name: 1.0}, aimed)

    def _finds(self, name: str, wing: Wing | None, latent: Latent) -> Array:
        one = self._balls[name]
        parts = [share * self._finds(ball, wing, latent) for ball, share in one.of.items()]
        return np.asarray(np.sum([latent.vector(one.finds, wing), *parts], axis=0))

    def strokes(self, level: Level, seen: Array, situation: Situation) -> Array:
        """Return our strokes, in standard deviations, from the profile if a record measures them, else from the rating.

        `seen` holds the means of `own_sums`, for the strokes that a record measures and for `COUNTED_BY`.
        """
        ratings = [situation.own.get(key) for key in self.strokes_read]
        found = [(r - MIDDLE) / self.rating_spread if isinstance(r, int | float) else 0.0 for r in ratings]
        strokes = np.array(found)
        strokes[self._measured] = seen[:-SHARES] / self._spreads[level]
        return strokes

    def owned(self, strokes: Array) -> Array:
        """Return how much our own strokes add, in points per tried point, (rows,)."""
        return np.asarray(self._own @ strokes)

    def own_terms(self, place: int, strokes: Array) -> Iterator[Term]:
        """Yield how much each own stroke adds to a row, in points per tried point."""
        for stroke, part, z in zip(self.strokes_read, self._own[place].tolist(), strokes.tolist(), strict=True):
            if part:
                yield Term("own", stroke, part / self._stroke_value, part * z)

    def moved(self, own: Fit, seen: Array) -> tuple[Array, Array, Array]:
        """Return the gain from changing serve shares, that gain with nothing seen, and the slopes, per tried point."""
        usual, sums = self._serves[own.latent.level], self.own_sums[own.latent.level][-SHARES:]
        at = usual + seen[-SHARES:]
        gains = _moved(np.vstack((at, usual + sums @ own.start, at + STEP * np.eye(len(at)))), self._moves)
        return gains[0], gains[1], (gains[2:] - gains[0]).T @ sums / STEP

    def moved_terms(self, place: int, level: Level, seen: Array) -> Iterator[Term]:
        """Yield how much each changed share gains on top of the previous ones, in points per tried point."""
        moves, at, before = self.of[place].moves, self._serves[level] + seen[-SHARES:], 0.0
        for n, (name, by) in enumerate(moves.items(), start=1):
            gained = float(_moved(at[np.newaxis], _in_order(dict([*moves.items()][:n])))[0, 0])
            yield Term("moves", name, by, gained - before)
            before = gained


def _summed(latent: Latent, measures: Sequence[Measure]) -> tuple[Array, Array]:
    """Return the sums of measures, (measures, latent values), and their standard deviations between players."""
    summed = [latent.summed(measure, None) for measure in measures]
    sums = np.array([vector for vector, _ in summed]).reshape(len(summed), len(latent.dims))
    return sums, np.array([spread for _, spread in summed])


def _aimed_at(tactic: Tactic, traits: Mapping[str, Trait]) -> list[Wing]:
    """Return the wings that a tactic may aim at: those of the traits in its conditions, otherwise both."""
    found: set[Wing] = set()
    for alternative in tactic.when:
        of_traits = [
            wing
            for condition in alternative.conditions
            if condition.kind is FactKind.BELIEF
            for wing in traits[condition.name].wings
            if wing and all(test.value == wing.value for test in condition.tests if test.field == "wing")
        ]
        found.update(of_traits or Wing)
    return [wing for wing in Wing if wing in found]


def _in_order(moves: Mapping[str, float]) -> Array:
    return np.array([[moves.get(name, 0.0) for name in MOVES]])


def _moved(at: Array, moves: Array) -> Array:
    """Return the gain per serve point, (points, rows), from changing shares; log-odds are those in `COUNTED_BY`."""
    first, behind, doubles, second = expit(at).T
    now = np.array((first, behind, doubles, np.minimum(second / (1.0 - doubles), 1.0)))[..., np.newaxis]
    after = np.clip(now + moves.T[:, np.newaxis], 0.0, 1.0)
    return np.asarray(serve_points(*after) - serve_points(*now))


def serve_points(first: Any, behind: Any, doubles: Any, in_play: Any) -> Any:
    """Return the share of serve points won, given first serves in, points won behind them, doubles, and seconds won."""
    return first * behind + (1.0 - first) * (1.0 - doubles) * in_play


class Prices:
    """All prices in one situation: means and spreads in points over all points, one per row of the book."""

    def __init__(self, book: PriceBook, beliefs: Beliefs, situation: Situation, base: Baseline) -> None:
        """Read the profiles. `after` contains the prices once tries are counted, `mean` those before.

        Only tries since the opponent's last change of play count. A tactic tried often enough to be judged claims no
        more than its tries support.
        """
        self.book, self._beliefs, self._situation = book, beliefs, situation
        fit, own = beliefs.opponent, beliefs.own
        self.slopes = book.slopes[fit.latent.level]
        self.read, variances, self._weighed = fit.of(self.slopes)
        self._seen = own.of(book.own_sums[own.latent.level])[0]
        self.strokes = book.strokes(own.latent.level, self._seen, situation)
        lead, doubt = beliefs.spot_lead
        tried = self.read + book.owned(self.strokes) + book.spot * lead
        self._read_variance = variances + book.spot**2 * doubt
        moved, before, slopes = book.moved(own, self._seen)
        tried[book.moving] += moved
        self.read[book.moving] += moved - before  # the part due to what was seen of either player
        over = situation.moment is Moment.AFTER_MATCH  # next time, they will begin as they began today
        self._read_variance[book.moving] += own.of(slopes)[1]
        tries = tries_since(situation.tries, None if over else beliefs.change)
        by_tactic = summed(tries)
        self._own_slopes = dict(zip(book.moving, slopes, strict=True))
        error = float(book.figures["model_error"])
        self.mean = book.share * tried - book.costs
        self.spread = book.share * np.sqrt(np.maximum(self._read_variance, 0.0) + error * error)
        self.base = base
        self._answered = {one.tactic for one in situation.tries if one.tried and one not in tries}
        self.judged = {name: self.judge(name, tries) for name, one in by_tactic.items() if one.tried}
        self.after, self.after_spread = self._learned()
        pays_in = ndtr(self.mean / self.spread)
        reads = ndtr(self.read / np.sqrt(np.maximum(self._read_variance, NOTHING)))
        figures = np.array((self.mean, self.spread, self.after, pays_in, self.read, reads))
        self._figures: list[list[float]] = figures.T.tolist()
        self._told = {one.tactic for one in self.judged.values() if one.tried >= book.tries}

    def of(self, firings: Sequence[Firing]) -> Priced:
        """Return the best-priced of a tactic's firings (at least one); ties go to the first alternative."""
        if firings[0].tactic.price is None:
            return Priced(firings[0])
        found = [(self._figures[place], firing, place) for firing in firings for place in self._places(firing)]
        best = max(found, key=lambda f: (round(f[0][2], 9), -f[1].alternative, -f[2])) if len(found) > 1 else found[0]
        figures, firing, place = best
        mean, spread, after, pays_in, read, reads = figures
        if firing.tactic.id in self._told:
            mean, pays_in = min(mean, after), float(ndtr(after / self.after_spread[place]))
        return Priced(firing, mean, spread, after, pays_in, read, place, reads)

    def best(self, tactic: str) -> int:
        """Return the best row of a priced tactic among the wings that its rules may aim at."""
        return max(self.book.brought_up[tactic], key=lambda place: round(float(self.mean[place]), 9))

    def _places(self, firing: Firing) -> list[int]:
        """Return a firing's rows: its wing's row, or both if the price aims at a wing and the firing has none."""
        place = self.book.place.get((firing.tactic.id, firing.wing))
        return self.book.places[firing.tactic.id] if place is None else [place]

    def judge(self, tactic: str, tries: Iterable[Tries]) -> Judged:
        """Judge a tactic by these tries. If it sends no ball or the opponent has adapted to it, its prior gain is 0."""
        rule, carried_out = self.book.rulebook.tactics[tactic], float(self.book.figures["carried_out"])
        mean, spread = 0.0, 0.0
        if rule.price:
            row = self.best(tactic)
            mean, spread = float(self.mean[row]) / rule.price.share, float(self.spread[row]) / rule.price.share
            mean *= tactic not in self._answered
        prior = mean, float(np.hypot(spread, carried_out))
        return judged(tactic, [one for one in tries if one.tactic == tactic], rule.touches, self.base, prior)

    def _learned(self) -> tuple[Array, Array]:
        """Return the means and spreads after all tries, (rows,) each. A tactic's tries move all its rows."""
        mean, spread = self.mean.copy(), self.spread.copy()
        for tactic, told in self.judged.items():
            for place in self.book.places.get(tactic, ()):
                share = self.book.share[place]
                mean[place] += share * told.mean - self.mean[self.best(tactic)]
                spread[place] = share * told.spread
        return mean, spread

    def alike(self, places: Sequence[int]) -> Array:
        """Return the correlations between the profile-dependent parts of these rows, (rows, rows)."""
        rows = list(places)
        fit = self._beliefs.opponent
        sums = self.slopes[rows]
        covariance = sums @ sums.T
        if fit.posterior is not None:
            covariance = covariance - self._weighed[rows] @ (sums @ fit.posterior.loads.T).T
        spread = np.sqrt(np.maximum(self._read_variance[rows], 1e-12))
        return np.asarray(covariance / np.outer(spread, spread))

    def told(self, places: Sequence[int]) -> dict[int, list[tuple[Pool, float]]]:
        """Return the pools and how much each contributes to the price, per tried point; the contributions add up."""
        beliefs, lead = self._beliefs, self._beliefs.spot_lead[0]
        found: dict[int, dict[int, tuple[Pool, float]]] = {place: {} for place in places}
        own = {place: self._own_slopes[place] for place in places if place in self._own_slopes}
        for fit, slopes in ((beliefs.opponent, {place: self.slopes[place] for place in places}), (beliefs.own, own)):
            if fit.posterior is None or not slopes:
                continue
            parts = fit.of(np.array([*slopes.values()]))[2] * fit.posterior.working
            for place, of_place in zip(slopes, parts.tolist(), strict=True):
                for row, points in zip(fit.rows, of_place, strict=True):
                    before = found[place].get(id(row.pool), (row.pool, 0.0))[1]
                    found[place][id(row.pool)] = (row.pool, before + points)
        pools = {id(pool): pool for cell in beliefs.spots for pool in cell.pools}.values()
        spot = {place: float(self.book.spot[place]) for place in places}
        return {
            place: [*of.values(), *((pool, spot[place] * lead / len(pools)) for pool in pools if spot[place])]
            for place, of in found.items()
        }

    def terms(self, place: int) -> list[Term]:
        """Return a price's parts, in points per tried point; with `share` and `costs` they yield its mean."""
        book, spot, opponent = self.book, self.book.spot[place], self._beliefs.opponent
        found = [
            term._replace(points=float(opponent.of(sums[np.newaxis])[0][0]))
            for term, sums in book.linear(book.rows[place], opponent.latent)
        ]
        found += [
            *book.own_terms(place, self.strokes),
            *book.moved_terms(place, self._beliefs.own.latent.level, self._seen),
        ]
        if spot:
            found.append(Term("spot", "favourite spot", float(spot), float(spot * self._beliefs.spot_lead[0])))
        return found


def price_findings(book: PriceBook) -> Iterator[tuple[str, str, str]]:
    """Yield (tactic, problem, what was expected) for fields that change nothing and prices that cannot be positive.

    A price cannot be positive if it stays below 0 even with our strokes rated 4, against an opponent three standard
    deviations from usual in exactly what it exploits.
    """
    latent = book.latents[USUAL_LEVEL]
    best = np.full(len(book.strokes_read), (MAX_RATING - MIDDLE) / book.rating_spread)
    for place, row in enumerate(book.rows):
        price, read = book.of[place], book.slopes[USUAL_LEVEL][place]
        for term, slopes in book.linear(row, latent):
            if not np.any(np.abs(slopes) > NOTHING):
                yield row[0], f"price/{term.field}/{term.name} changes nothing", "balls that differ in what they find"
        reach = 3.0 * float(np.sqrt(read @ read)) + max(0.0, float(book.owned(best)[place])) + price.spot
        reach += max((abs(by) for by in price.moves.values()), default=0.0)
        if price.share * reach <= price.costs:
            yield row[0], f"price/costs {price.costs:g}", f"less than the {price.share * reach:.4f} that it can gain"


def together(total: float, cap: float) -> float:
    """Return the joint gain claimed for lines whose gains sum to `total` points: cap x tanh(total / cap)."""
    return cap * float(np.tanh(total / cap)) if total > 0.0 else total
