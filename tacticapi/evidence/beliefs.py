"""Turn a situation into profiles of both players and into beliefs: the probability of each trait's region.

The warm-up cannot raise a trait's probability above the ceiling; games can.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

import numpy as np
from scipy.special import expit, logit, ndtri

from tacticapi.domain.reasoning import Belief, Contribution, Estimate
from tacticapi.domain.rules import USUAL_LEVEL, Level, ObservationKind, Rulebook, TraitKey
from tacticapi.domain.situation import Game, Moment, Observation, Phase, Situation, Way, Wing
from tacticapi.evidence.entries import Entry, Pool, Shift, earlier_pools, pools_of, read_entries
from tacticapi.evidence.gaussian import Array, both_inside, inside
from tacticapi.evidence.profile import OPPONENT, OWN, OWN_SUBJECTS, Fit, Latent, ProfileModel
from tacticapi.evidence.spots import Cell, SpotModel

NERVES, NERVOUS = "warmup.nerves", 3
NEAR = 1e-9  # probabilities are kept at least this far from 0 and 1
TOLD = 0.1  # log-odds: an observation kind is named if it moves a belief by this much


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All beliefs in vocabulary order, the observations counted and refused, changes of play, and both profiles.

    `refused` maps positions in the posted list to reasons. `change` is when the opponent's play last changed.
    `spot_lead` is how far their likeliest serve spot exceeds what is usual, and the variance of that lead.
    """

    by_key: Mapping[TraitKey, Belief]
    refused: Mapping[int, str]
    entries: tuple[Entry, ...]
    shifts: tuple[Shift, ...]
    change: Game | None
    opponent: Fit
    own: Fit
    spots: Sequence[Cell]
    spot_lead: tuple[float, float]

    @property
    def all(self) -> tuple[Belief, ...]:
        """Return one belief for each trait and wing."""
        return tuple(self.by_key.values())


class Regions:
    """The regions of all traits at one level: sums of latent values and their bounds.

    All first regions come before any second region. `sums` covers only first regions.
    """

    def __init__(self, rulebook: Rulebook, latent: Latent) -> None:
        traits = [(trait, wing) for trait in rulebook.traits.values() if trait.regions for wing in trait.wings]
        self.keys: list[TraitKey] = [(trait.id, wing) for trait, wing in traits]
        self.place = {key: place for place, key in enumerate(self.keys)}
        self._paired = [place for place, (trait, _) in enumerate(traits) if len(trait.regions) > 1]
        laid_out = [(trait.regions[0], wing) for trait, wing in traits]
        laid_out += [(traits[place][0].regions[1], traits[place][1]) for place in self._paired]
        rows = [latent.vector(region.of, wing) for region, wing in laid_out]
        self._every = np.array(rows).reshape(len(rows), len(latent.dims))
        self.sums, self._second = self._every[: len(traits)], self._every[len(traits) :]
        spreads = np.array([float(np.sqrt(row @ row)) for row in rows])
        quantiles = np.array([(region.low, region.high) for region, _ in laid_out], dtype=np.float64)
        self._low, self._high = (spreads * ndtri(quantiles.reshape(len(rows), 2)).T)[:, :, np.newaxis]
        self._outer = np.array([region.outer for region, _ in laid_out[: len(traits)]], dtype=np.bool_)[:, np.newaxis]
        self._either = np.array([traits[place][0].either for place in self._paired], dtype=np.bool_)[:, np.newaxis]

    def chances(self, fit: Fit) -> Array:
        """Return every trait's probability given all rows, then without each row in turn, (traits, 1 + rows)."""
        means, variances, weighed = fit.of(self._every)
        means, variances = _with_and_without(fit, means, variances, weighed)
        deviations = np.sqrt(variances)
        within = inside(means, deviations, self._low, self._high)
        first, second = self._paired, slice(len(self.keys), None)
        found = np.where(self._outer, 1.0 - within[: len(self.keys)], within[: len(self.keys)])
        if first:
            normals = [(means[n], deviations[n], self._low[n], self._high[n]) for n in (first, second)]
            both = both_inside(normals[0], normals[1], self._across(fit, weighed))
            both = np.where(self._outer[first], within[second] - both, both)
            found[first] = np.where(self._either, found[first] + within[second] - both, both)
        return np.asarray(found)

    def _across(self, fit: Fit, weighed: Array) -> Array:
        """Return the covariances of a trait's two regions given all rows, then without each row in turn."""
        first, second = self._paired, slice(len(self.keys), None)
        across: Array = np.vecdot(self.sums[first], self._second)[:, np.newaxis]
        if fit.posterior is None:
            return across
        across = across - np.vecdot(weighed[first], self._second @ fit.posterior.loads.T)[:, np.newaxis]
        without = across + weighed[first] * weighed[second] / fit.posterior.inverse.diagonal()
        return np.asarray(np.hstack((across, without)))


def _with_and_without(fit: Fit, means: Array, variances: Array, weighed: Array) -> tuple[Array, Array]:
    """Return the means and variances of sums given all rows, then without each row in turn, (sums, 1 + rows)."""
    now = means[:, np.newaxis], variances[:, np.newaxis]
    if fit.posterior is None:
        return now
    without = zip(now, fit.posterior.without(means, variances, weighed), strict=True)
    means, variances = (np.concatenate(parts, axis=1) for parts in without)
    return means, variances


class EvidenceModel:
    """Turns situations into profiles and beliefs, using one rulebook."""

    def __init__(self, rulebook: Rulebook) -> None:
        self._rulebook = rulebook
        self.profiles = ProfileModel(rulebook)
        self.spots = SpotModel(rulebook.defaults["profile"]["spots"])
        self._ceiling, self._surest = (float(rulebook.defaults["evidence"][n]) for n in ("warm_up_ceiling", "surest"))
        self.regions = {level: Regions(rulebook, latent) for level, latent in self.profiles.latents.items()}
        habits = {quality.id for quality in rulebook.qualities.values() if quality.habit}
        self._habits = [
            kind.id
            for kind in rulebook.kinds.values()
            if any(load.partition("/")[0] in habits for measure in kind.measures for load in measure.loads)
        ]
        self._favourites = {trait.id: trait.favourite for trait in rulebook.traits.values() if trait.favourite}
        keys = [(trait.id, wing) for trait in rulebook.traits.values() for wing in trait.wings]
        self._unmoved: dict[Level, dict[TraitKey, Belief]] = {}
        self._ceilings: dict[Level, Array] = {}
        for level, regions in self.regions.items():
            nothing = self.profiles.fit((), level, nervous=False)
            chances = regions.chances(nothing)[:, 0]
            self._ceilings[level] = logit(np.maximum(self._ceiling, chances))
            priors = dict(zip(regions.keys, chances.tolist(), strict=True))
            priors |= {(trait, None): self.spots.usual(share) for trait, share in self._favourites.items()}
            self._unmoved[level] = {key: Belief(*key, priors[key], priors[key]) for key in keys}

    def priors(self, level: Level = USUAL_LEVEL) -> Mapping[TraitKey, float]:
        """Return every trait's prior for a player at this level."""
        return {key: belief.prior for key, belief in self._unmoved[level].items()}

    def believe(self, situation: Situation) -> Beliefs:
        """Return both profiles and the belief in every trait, one per wing, in vocabulary order."""
        entries = read_entries(situation, self._rulebook, self._habits)
        pools = pools_of(entries.counted, self._rulebook.kinds)
        level = _level(situation.opponent)
        nervous = any(seen.what == NERVES and (seen.rating or 0.0) >= NERVOUS for seen, _, _ in entries.counted)
        theirs = [pool for pool in pools if pool.kind.subject not in OWN_SUBJECTS]
        theirs += self._facts(situation)
        for one in situation.earlier:
            theirs += earlier_pools(one, self._rulebook.kinds)
        opponent = self.profiles.fit(theirs, level, nervous=nervous)
        ours = [pool for pool in pools if pool.kind.subject in OWN_SUBJECTS]
        own = self.profiles.fit(ours, _level(situation.own), nervous=False, ratings=situation.own)
        beliefs = dict(self._unmoved[level])
        self._by_region(opponent, beliefs)
        cells = self.spots.cells(theirs)
        self._by_spots(cells, beliefs)
        counted, refused, shifts, change = entries
        return Beliefs(beliefs, refused, counted, shifts, change, opponent, own, cells, self.spots.lead(cells))

    def profile(self, beliefs: Beliefs) -> tuple[Estimate, ...]:
        """Return estimates of both players' qualities, starting with the surest departures from the usual."""
        told = [*self.profiles.estimates(beliefs.opponent, OPPONENT), *self.profiles.estimates(beliefs.own, OWN)]
        return tuple([one for _, one in sorted(told, key=itemgetter(0))])

    def _facts(self, situation: Situation) -> list[Pool]:
        """Return pools for the evidence in the opponent's facts and the context."""
        found = []
        for subject, items in (("opponent", situation.opponent), ("context", situation.context)):
            for name, value in items.items():
                kind = self._rulebook.kinds.get(f"{subject}.{name}")
                if kind is not None and kind.measures and isinstance(value, str | int | float):
                    way = Way.VALUE if isinstance(value, str) else Way.AMOUNT
                    said = {"value": value} if way is Way.VALUE else {"amount": float(value)}
                    found.append(Pool(kind, Phase.BEFORE, [Observation(index=-1, what=kind.id, way=way, **said)]))
        return found

    def _by_region(self, fit: Fit, beliefs: dict[TraitKey, Belief]) -> None:
        if not fit.rows:
            return
        regions = self.regions[fit.latent.level]
        chances = np.minimum(np.maximum(regions.chances(fit), NEAR), 1.0 - NEAR)
        now, odds = chances[:, 0], logit(chances)
        found = {id(row.pool): row.pool for row in fit.rows}.values()
        pools = sorted(found, key=lambda pool: (pool.kind.id, pool.text))
        places, said = {id(pool): place for place, pool in enumerate(pools)}, [_said(pool) for pool in pools]
        rows_of = np.zeros((len(fit.rows), len(pools)))
        rows_of[np.arange(len(fit.rows)), [places[id(row.pool)] for row in fit.rows]] = 1.0
        by_pool = (odds[:, :1] - odds[:, 1:]) @ rows_of
        late = by_pool @ np.array([pool.today for pool in pools], dtype=np.float64)
        early = np.minimum(odds[:, 0] - late, self._ceilings[fit.latent.level])  # before the first game
        capped = np.clip(np.minimum(now, expit(early + late)), 1.0 - self._surest, self._surest).tolist()
        of, by = np.nonzero(np.abs(by_pool) >= TOLD)
        order = np.lexsort((-np.abs(by_pool[of, by]).round(9), of))
        of, by = of[order], by[order]
        told: dict[int, list[Contribution]] = {}
        for place, pool, move in zip(of.tolist(), by.tolist(), by_pool[of, by].tolist(), strict=True):
            told.setdefault(place, []).append(Contribution(move, *said[pool]))
        for place, contributions in told.items():
            key = regions.keys[place]
            beliefs[key] = Belief(*key, beliefs[key].prior, capped[place], tuple(contributions))

    def _by_spots(self, cells: Sequence[Cell], beliefs: dict[TraitKey, Belief]) -> None:
        for trait, share in self._favourites.items():
            prior = beliefs[trait, None].prior
            chances = [(float(np.clip(cell.favourite(share), NEAR, 1.0 - NEAR)), cell) for cell in cells]
            if chances:
                moves = ((float(logit(chance) - logit(prior)), cell.pools) for chance, cell in chances)
                told = [Contribution(move, *_said(pool)) for move, pools in moves for pool in pools]
                best = max(chance for chance, _ in chances)  # a favourite spot in either court is enough
                games = any(pool.today for cell in cells for pool in cell.pools)
                capped = max(1.0 - self._surest, min(best, self._surest if games else max(self._ceiling, prior)))
                told.sort(key=lambda c: (-abs(c.log_odds), c.what, c.text))
                beliefs[trait, None] = Belief(trait, None, prior, capped, tuple(told))


def _level(profile: Mapping[str, Any]) -> Level:
    return Level(profile.get("level") or USUAL_LEVEL)


def _said(pool: Pool) -> tuple[str, Phase, float, tuple[int, ...], str]:
    return pool.kind.id, pool.phase, pool.chances, pool.places, pool.text


@dataclass(frozen=True, slots=True)
class Move:
    """How much the first chance of one kind, seen in a game, changes a belief (0 to 1)."""

    kind: str
    trait: str
    change: float


def largest_moves(rulebook: Rulebook) -> Iterator[Move]:
    """Yield, for every kind that can be counted, the belief that a single chance in a game moves most."""
    model = EvidenceModel(rulebook)
    before = model.priors()
    for kind in rulebook.kinds.values():
        if kind.subject in OWN_SUBJECTS or Phase.GAMES not in kind.phases:
            continue
        largest = Move(kind.id, "", 0.0)
        for said in _one_chance(kind):
            situation = Situation(Moment.CHANGE_OF_ENDS, observations=(said,))
            for (trait, wing), belief in model.believe(situation).by_key.items():
                change = abs(belief.probability - before[trait, wing])
                if change > largest.change:
                    largest = Move(kind.id, trait, change)
        if largest.trait:
            yield largest


def _one_chance(kind: ObservationKind) -> Iterator[Observation]:
    for wing in (None, *Wing) if "wing" in kind.qualifiers else (None,):
        if Way.COUNT in kind.ways:
            yield from (Observation(0, kind.id, Way.COUNT, count=n, of=1.0, wing=wing) for n in (0.0, 1.0))
        if Way.COUNTS in kind.ways:
            yield from (Observation(0, kind.id, Way.COUNTS, counts={option: 1.0}, wing=wing) for option in kind.options)
