"""What the next observation could show: the chances of its outcomes if a trait holds and if it does not.

A look adds one row to the posterior. Its latent sum and the trait's are one bivariate normal, so the outcomes follow by
quadrature over the sum: binomial for a count, bins of the rating scale for a reading. How many chances one look brings
is a model default.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, expit, ndtr

from tacticapi.domain.rules import Level, ObservationKind, Rulebook, TraitKey
from tacticapi.domain.situation import Phase, Way, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel, Marks
from tacticapi.evidence.entries import COUNTED
from tacticapi.evidence.gaussian import Array, centre, inside
from tacticapi.evidence.profile import OWN_SUBJECTS, Fit, Latent
from tacticapi.evidence.spots import KINDS

UNSEEN_SUBJECTS = OWN_SUBJECTS | {"context", "plan", "quality"}
"""What no look at the opponent can show; a quality is rated by what all looks showed."""
MEASURED = (Way.RATING, Way.AMOUNT)
EDGES = np.array([-np.inf, -1.5, -0.5, 0.5, 1.5, np.inf])  # between the five ratings, in steps from the middle
LEAST_TIE = 0.1  # correlation of a look and a trait below which the look says nothing worth asking for
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
_THETA = (np.arange(40) + 0.5) / 40


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to look at: its kind, the wing on which to look (None: either), and how many chances it brings."""

    kind: ObservationKind
    wing: Wing | None
    chances: int


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What looks may show of traits, one row a pair: the chances of the outcomes if the trait holds and if it does not.

    `look` is the place of each row's look, in rising order. The chances are (rows, outcomes), each row sums to 1, and
    outcomes that a look does not have are 0.
    """

    looks: Sequence[Look]
    look: NDArray[np.intp]
    keys: Sequence[TraitKey]
    p_if_true: Array
    p_if_false: Array

    @property
    def tells(self) -> Array:
        """The total variation distances, 0 to 1: no more of what certainty would gain can a look bring."""
        return np.asarray(np.abs(self.p_if_true - self.p_if_false).sum(axis=1) / 2)


class NextObservations:
    """What there is to look at in the phases still to come, laid out once for every level."""

    def __init__(self, rulebook: Rulebook, model: EvidenceModel) -> None:
        """Collect the looks of every phase; nothing changes afterwards."""
        self._model = model
        chances = {Phase(name): int(n) for name, n in rulebook.defaults["looks"]["chances"].items()}
        figures = rulebook.defaults["profile"]
        self._noise = float(figures["rating"]["noise"]) ** 2
        self._word_slope = float(figures["word"]["slope"])
        self._slope = float(figures["rating"]["spread"])
        self._tau = figures["tau"]
        self._graded = int(rulebook.defaults["evidence"]["graded_entries"])
        self._kinds = [k for k in rulebook.kinds.values() if k.subject not in UNSEEN_SUBJECTS and not k.health]
        self._chances = chances
        self._tables: dict[tuple[tuple[Phase, ...], Level], _Table] = {}
        self._favourites = [trait.id for trait in rulebook.traits.values() if trait.favourite]
        self._practice = float(figures["spots"]["practice_serve"])
        self._share = {trait.id: trait.favourite for trait in rulebook.traits.values()}

    def outcomes(
        self, beliefs: Beliefs, phases: tuple[Phase, ...], wanted: Collection[TraitKey], gone: Collection[str]
    ) -> Outcomes:
        """Return what each look still to come may show of each `wanted` trait; the kinds in `gone` are left out."""
        fit = beliefs.opponent
        table = self._table(phases, fit.latent)
        gone = {*gone, *self._answered(beliefs)}
        regions = self._model.regions[fit.latent.level]
        places = [place for place, key in enumerate(regions.keys) if key in wanted]
        open_rows = [row for row, look in enumerate(table.looks) if look.kind.id not in gone]
        spots = list(self._by_spots(beliefs, phases, wanted, gone))
        looks, keys = [look for look, *_ in spots], [key for _, key, *_ in spots]
        place = np.arange(len(spots))
        both = np.zeros((2, len(spots), table.most))
        for row, (_, _, p_if_true, p_if_false) in enumerate(spots):
            both[0, row, : len(p_if_true)] = p_if_true
            both[1, row, : len(p_if_false)] = p_if_false
        if places and open_rows:
            at_look, at_trait, *by_region = self._by_region(table, fit, open_rows, places)
            looks += [table.looks[row] for row in open_rows]
            place = np.concatenate((place, at_look + len(spots)))
            keys += [regions.keys[places[trait]] for trait in at_trait.tolist()]
            both = np.concatenate((both, np.array(by_region)), axis=1)
        return Outcomes(looks, place, keys, both[0], both[1])

    def _answered(self, beliefs: Beliefs) -> Iterator[str]:
        """Yield the graded kinds of which one more would only be averaged in."""
        seen: dict[str, int] = {}
        for entry in beliefs.entries:
            if entry.observation.way not in COUNTED:
                seen[entry.observation.what] = seen.get(entry.observation.what, 0) + 1
        yield from (what for what, times in seen.items() if times >= self._graded)

    def _table(self, phases: tuple[Phase, ...], latent: Latent) -> "_Table":
        if (phases, latent.level) not in self._tables:
            self._tables[phases, latent.level] = self._laid_out(phases, latent)
        return self._tables[phases, latent.level]

    def _laid_out(self, phases: tuple[Phase, ...], latent: Latent) -> "_Table":
        looks: list[Look] = []
        loads: list[Array] = []
        figures: list[tuple[float, float, float]] = []
        for kind in self._kinds:
            phase = next((phase for phase in phases if phase in kind.phases), None)
            if phase is None:
                continue
            wings = (None,) if "wing" not in kind.qualifiers else tuple(Wing)
            for measure in kind.measures[:1]:
                counts = bool(measure.usual) and not set(kind.ways).isdisjoint(COUNTED)
                for wing in wings:
                    vector = latent.vector(measure.loads, wing)
                    spread = float(np.sqrt(vector @ vector))
                    graded = not counts and not set(kind.ways).isdisjoint(MEASURED)
                    look = Look(kind, wing, self._chances[phase] if counts else 0 if graded else 1)
                    if counts:
                        own = self._tau["warm_up" if phase is Phase.WARM_UP else "miscount"] ** 2
                        figures.append((centre(measure.usual[latent.level], spread), own, 0.0))
                    else:
                        vector = vector * (self._slope / spread) * (1.0 if graded else self._word_slope)
                        figures.append((0.0, 0.0, self._noise))
                    looks.append(look)
                    loads.append(vector)
        mu, own, noise = np.array(figures).reshape(len(figures), 3).T
        return _Table(looks, np.array(loads), mu, own, noise)

    def _by_region(
        self, table: "_Table", fit: Fit, rows: Sequence[int], places: Sequence[int]
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], Array, Array]:
        """Return the pairs of look and trait that have a tie, by place, and the chances of their outcomes."""
        regions = self._model.regions[fit.latent.level]
        loads, sums = table.loads[rows], regions.sums[places]
        mean, variance, weighed = fit.of(loads)
        _, trait_variance, _ = fit.of(sums)
        across = _across(fit, loads, weighed, sums)
        total = variance + table.own[rows]
        tied = np.abs(across) > LEAST_TIE * np.sqrt(total[:, np.newaxis] * trait_variance)
        at_look, at_trait = np.nonzero(tied)
        deviation = np.sqrt(total)
        latent = (table.mu[rows] + mean)[:, np.newaxis] + deviation[:, np.newaxis] * _NODES
        chances = table.outcomes(rows, latent)  # (looks, nodes, outcomes)
        deviations = deviation[:, np.newaxis] * _NODES
        holds = np.ones((len(at_look), len(_NODES)))
        for marks in regions.parts(places):
            holds *= _given(fit, marks, (loads, total, weighed, deviations), (at_look, at_trait))
        joint = ((holds * _WEIGHTS)[:, np.newaxis, :] @ chances[at_look])[:, 0, :]
        whole = (_WEIGHTS @ chances)[at_look]
        chance = np.clip(joint.sum(axis=1, keepdims=True), 1e-9, 1.0 - 1e-9)
        return at_look, at_trait, joint / chance, np.maximum(whole - joint, 0.0) / (1.0 - chance)

    def _by_spots(
        self, beliefs: Beliefs, phases: tuple[Phase, ...], wanted: Collection[TraitKey], gone: Collection[str]
    ) -> Iterator[tuple[Look, TraitKey, Sequence[float], Sequence[float]]]:
        """Yield what the next serves to a court may show of a favourite spot: how many go to the likeliest one."""
        for trait in self._favourites:
            share = self._share[trait]
            if (trait, None) not in wanted or share is None:
                continue
            for kind in self._kinds:
                phase = next((phase for phase in phases if phase in kind.phases), None)
                if kind.id in KINDS and kind.id not in gone and phase is not None:
                    cell = self._model.spots.cell(KINDS[kind.id], beliefs.spots)
                    worth = self._practice if phase is Phase.WARM_UP else 1.0
                    look = Look(kind, None, max(1, round(self._chances[phase] * worth)))
                    yield look, (trait, None), *_favourite(cell.alphas, share, look.chances)


def _across(fit: Fit, loads: Array, weighed: Array, sums: Array) -> Array:
    """Return the posterior covariances of looks and sums, (looks, sums)."""
    prior = loads @ sums.T
    return prior if fit.posterior is None else np.asarray(prior - weighed @ (sums @ fit.posterior.loads.T).T)


def _given(
    fit: Fit, marks: Marks, looks: tuple[Array, Array, Array, Array], pairs: tuple[NDArray[np.intp], NDArray[np.intp]]
) -> Array:
    """Return the chance of a region at every node of a look, (pairs, nodes); two regions are taken one by one."""
    loads, total, weighed, deviations = looks
    at_look, at_trait = pairs
    mean, variance, _ = fit.of(marks.sums)
    across = _across(fit, loads, weighed, marks.sums)[at_look, at_trait]
    slope = across / total[at_look]
    means = mean[at_trait][:, np.newaxis] + slope[:, np.newaxis] * deviations[at_look]
    rest = np.sqrt(np.maximum(variance[at_trait] - slope * across, 1e-12))[:, np.newaxis]
    chance = inside(means, rest, marks.low[at_trait][:, np.newaxis], marks.high[at_trait][:, np.newaxis])
    return np.asarray(np.where(marks.outer[at_trait][:, np.newaxis], 1.0 - chance, chance))


@dataclass(frozen=True, slots=True)
class _Table:
    """Looks with their loads, (looks, latent values), means, own offsets' variances and, for readings, noise."""

    looks: Sequence[Look]
    loads: Array
    mu: Array
    own: Array
    noise: Array

    @property
    def most(self) -> int:
        """The number of outcomes of the look that has most."""
        return max([look.chances + 1 for look in self.looks] + [len(EDGES) - 1])

    def outcomes(self, rows: Sequence[int], latent: Array) -> Array:
        """Return the chance of every outcome at every node, (looks, nodes, outcomes); unused outcomes are 0."""
        found = np.zeros((*latent.shape, self.most))
        for chances in {self.looks[row].chances for row in rows}:
            these = [i for i, row in enumerate(rows) if self.looks[row].chances == chances]
            at = latent[these][..., np.newaxis]
            if chances:
                p = np.clip(expit(at), 1e-9, 1.0 - 1e-9)
                found[these, :, : chances + 1] = _binomial(p, chances)
            else:
                spread = np.sqrt(self.noise[[rows[i] for i in these]])[:, np.newaxis, np.newaxis]
                found[these, :, : len(EDGES) - 1] = np.diff(ndtr((EDGES - at) / spread), axis=-1)
        return found


def _binomial(p: Array, chances: int) -> Array:
    """Return the chances of 0 to `chances` hits; the last axis of `p` has length 1."""
    ways = [float(comb(chances, hits)) for hits in range(chances + 1)]
    repeated = np.repeat(p, chances, axis=-1)
    one = np.ones_like(p)
    hits = np.concatenate((one, np.multiply.accumulate(repeated, axis=-1)), axis=-1)
    misses = np.concatenate((one, np.multiply.accumulate(1.0 - repeated, axis=-1)), axis=-1)
    return np.asarray(ways * hits * misses[..., ::-1])


@lru_cache(maxsize=1024)
def _favourite(alphas: tuple[float, ...], share: float, chances: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the chances that 0 to `chances` serves go to the likeliest spot, if it is a favourite and if not."""
    total, best = sum(alphas), max(alphas)
    edges = betainc(best, total - best, np.arange(41) / 40)
    weights = np.diff(edges)
    given = _binomial(_THETA[:, np.newaxis], chances)
    favourite = share <= _THETA
    p = [weights[part] @ given[part] / max(float(weights[part].sum()), 1e-9) for part in (favourite, ~favourite)]
    return tuple((p[0] / p[0].sum()).tolist()), tuple((p[1] / p[1].sum()).tolist())
