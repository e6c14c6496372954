"""Predict what the next look could change: how far a profile sum shifts per standard deviation of the result.

A result shifts the mean of a sum by their covariance, divided by the look's standard deviation.
"""

from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from scipy.special import expit

from tacticapi.domain.rules import Level, ObservationKind, Rulebook
from tacticapi.domain.situation import Phase, Way, Wing
from tacticapi.evidence.beliefs import Beliefs, EvidenceModel
from tacticapi.evidence.entries import COUNTED
from tacticapi.evidence.gaussian import Array, centre
from tacticapi.evidence.profile import OWN_SUBJECTS, Latent
from tacticapi.evidence.spots import KINDS

UNSEEN_SUBJECTS = OWN_SUBJECTS | {"context", "plan", "quality"}
"""Subjects that no look at the opponent can show; a quality is rated from all looks together."""
MEASURED = (Way.RATING, Way.AMOUNT)
NO_STARTER = 10_000  # kinds outside the starter set come after it


class Glance(NamedTuple):
    """One thing to look at: its kind, the wing (None: either), the chances it provides, and its weight."""

    kind: ObservationKind
    wing: Wing | None
    chances: int
    weight: float


class _Table(NamedTuple):
    """Looks with their loads, (looks, latent values), the means of counts, and the noise variance."""

    looks: Sequence[Glance]
    names: Sequence[str]
    loads: Array
    mu: Array
    chances: Array
    noise: Array


class NextObservations:
    """Everything to look at in the phases still to come, precomputed for every level."""

    def __init__(self, rulebook: Rulebook, model: EvidenceModel) -> None:
        self._model = model
        rule = rulebook.defaults["looks"]
        self._chances = {Phase(name): int(n) for name, n in rule["chances"].items()}
        self._starters, self._beyond = float(rule["starters"]), float(rule["beyond_starters"])
        figures = rulebook.defaults["profile"]
        self._noise, self._slope = float(figures["rating"]["noise"]) ** 2, float(figures["rating"]["spread"])
        self._word, self._word_slope = float(figures["word"]["weight"]), float(figures["word"]["slope"])
        self._tau = figures["tau"]
        self._practice = float(figures["spots"]["practice_serve"])
        self._graded = int(rulebook.defaults["evidence"]["graded_entries"])
        kinds = [k for k in rulebook.kinds.values() if k.subject not in UNSEEN_SUBJECTS and not k.health]
        self._kinds = sorted(kinds, key=lambda kind: kind.starter or NO_STARTER)
        self._tables: dict[tuple[tuple[Phase, ...], Level], _Table] = {}

    def moves(
        self, beliefs: Beliefs, phases: tuple[Phase, ...], sums: Array, spots: Array, gone: Collection[str]
    ) -> tuple[list[Glance], Array]:
        """Return the looks still to come, and how far each one moves each sum of the opponent's profile, (looks, sums).

        `spots` is how far each sum moves per unit of lead of the favourite serve spot. Kinds in `gone` are left out.
        """
        fit = beliefs.opponent
        table = self._table(phases, fit.latent)
        gone = {*gone, *self._answered(beliefs)}
        rows = [row for row, name in enumerate(table.names) if name not in gone]
        loads = table.loads[rows]
        means, variances, weighed = fit.of(loads)
        across = loads @ sums.T
        if fit.posterior is not None:
            across = across - weighed @ (sums @ fit.posterior.loads.T).T
        chance = expit(table.mu[rows] + means)
        chances = table.chances[rows]
        counted = 1.0 / np.maximum(chances * chance * (1.0 - chance), 1e-9)
        noise = table.noise[rows] + np.where(chances > 0.0, counted, 0.0)
        by = across / np.sqrt(variances + noise)[:, np.newaxis]
        found = [table.looks[row] for row in rows]
        for n in [n for n, row in enumerate(rows) if table.names[row] in KINDS]:
            by[n] = self._model.spots.lead_by(found[n].kind.id, found[n].chances, beliefs.spots) * spots
        return found, by

    def _answered(self, beliefs: Beliefs) -> Iterator[str]:
        seen: dict[str, int] = {}
        for entry in beliefs.entries:
            if entry.observation.way not in COUNTED:
                seen[entry.observation.what] = seen.get(entry.observation.what, 0) + 1
        yield from (what for what, times in seen.items() if times >= self._graded)

    def _table(self, phases: tuple[Phase, ...], latent: Latent) -> _Table:
        key = (phases, latent.level)
        if key in self._tables:
            return self._tables[key]
        looks: list[Glance] = []
        loads: list[Array] = []
        figures: list[tuple[float, float, float]] = []
        for kind in self._kinds:
            phase = next((phase for phase in phases if phase in kind.phases), None)
            if phase is None:
                continue
            early = phase is Phase.WARM_UP
            weight = self._starters / (self._starters + kind.starter) if kind.starter else self._beyond
            if kind.id in KINDS:
                worth = self._practice if early else 1.0
                looks.append(Glance(kind, None, max(1, round(self._chances[phase] * worth)), weight))
                loads.append(np.zeros(len(latent.dims)))
                figures.append((0.0, 0.0, 1.0))
                continue
            for measure in kind.measures[:1]:
                for wing in (None,) if "wing" not in kind.qualifiers else sorted(Wing):
                    vector = latent.vector(measure.loads, wing)
                    spread = float(np.sqrt(vector @ vector))
                    chances = 0
                    if measure.usual and not set(kind.ways).isdisjoint(COUNTED):
                        chances = self._chances[phase]
                        own = self._tau["warm_up" if early else "miscount"] ** 2
                        figures.append((centre(measure.usual[latent.level], spread), chances, own))
                    else:
                        graded = not set(kind.ways).isdisjoint(MEASURED)
                        vector = vector * (self._slope / spread) * (1.0 if graded else self._word_slope)
                        said = 4.0 / self._word  # the variance of that many chances at even odds
                        figures.append((0.0, 0.0, self._noise if graded else said))
                    looks.append(Glance(kind, wing, chances, weight))
                    loads.append(vector)
        mu, n, noise = np.array(figures).reshape(len(figures), 3).T
        names, stacked = [look.kind.id for look in looks], np.array(loads).reshape(len(looks), len(latent.dims))
        return self._tables.setdefault(key, _Table(looks, names, stacked, mu, n, noise))
