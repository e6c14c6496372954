"""Predict where the next serve goes: Dirichlet-multinomial by court and by first or second serve."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from scipy.special import betainc

from tacticapi.domain.situation import Phase
from tacticapi.evidence.entries import Pool

COURTS = ("deuce", "ad")
SPOTS = ("wide", "body", "T")
WARM_UP = "warmup.serve_spots"
KINDS: Mapping[str, str | None] = {
    "serve.deuce_court_spots": "deuce",
    "serve.ad_court_spots": "ad",
    "serve.big_point_spots": None,
    WARM_UP: None,
}


class Cell(NamedTuple):
    """First or second serves to one court: the posterior's Dirichlet parameters, and the pools behind them."""

    court: str | None
    serve: str
    alphas: tuple[float, ...]
    pools: tuple[Pool, ...]

    def shares(self) -> dict[str, float]:
        """Return the chance that the next serve goes to each spot."""
        return dict(zip(SPOTS, (a / sum(self.alphas) for a in self.alphas), strict=True))

    @property
    def best(self) -> float:
        """Return the likeliest spot's share."""
        return max(self.alphas) / sum(self.alphas)

    @property
    def variance(self) -> float:
        """Return the variance of the likeliest spot's share."""
        return self.best * (1.0 - self.best) / (sum(self.alphas) + 1.0)

    def favourite(self, share: float) -> float:
        """Return the probability that a single spot gets at least this share (above a half) of these serves."""
        total = sum(self.alphas)
        return float(sum(betainc(total - a, a, 1.0 - share) for a in self.alphas))


class SpotModel:
    """Predicts serve spots from counts and the rulebook's figures."""

    def __init__(self, figures: Mapping[str, Any]) -> None:
        self._usual: Mapping[str, Mapping[str, Sequence[float]]] = figures["usual"]
        self.totals: Mapping[str, float] = figures["totals"]
        self._practice = float(figures["practice_serve"])
        self._earlier = float(figures["earlier_serve"])
        self._first = float(figures["first_serves"])

    def cells(self, pools: Iterable[Pool]) -> list[Cell]:
        """Return one cell for each court and serve that has a count."""
        counts: dict[tuple[str | None, str], tuple[list[float], list[Pool]]] = {}
        for pool in pools:
            if pool.kind.id in KINDS and pool.current:
                worth = self._practice if pool.phase is Phase.WARM_UP else 1.0
                worth *= self._earlier * pool.earlier.weight if pool.earlier else 1.0
                fixed = KINDS[pool.kind.id]
                for court in (fixed,) if fixed else (*COURTS, None):
                    seen = [one.counts or {} for one in pool.entries if fixed or one.court == court]
                    total = [worth * sum(one.get(spot, 0.0) for one in seen) for spot in SPOTS]
                    if sum(total):
                        sums, used = counts.setdefault((court, pool.serve or "first"), ([0.0] * len(SPOTS), []))
                        sums[:] = [a + b for a, b in zip(sums, total, strict=True)]
                        used.append(pool)
        return [Cell(*where, self._posterior(*where, sums), tuple(used)) for where, (sums, used) in counts.items()]

    def cell(self, court: str | None, cells: Iterable[Cell]) -> Cell:
        """Return the cell for first serves to a court, or its prior if nothing was counted."""
        for cell in cells:
            if (cell.court, cell.serve) == (court, "first"):
                return cell
        return Cell(court, "first", self._posterior(court, "first"), ())

    def lead(self, cells: Iterable[Cell]) -> tuple[float, float]:
        """Return how far the likeliest spot's share exceeds the usual one, over both courts, and its variance."""
        found = {(cell.court, cell.serve): cell for cell in cells}
        mean = variance = 0.0
        for serve, weight in (("first", self._first), ("second", 1.0 - self._first)):
            for court in COURTS:
                cell = found.get((court, serve)) or found.get((None, serve))
                if cell is not None:
                    part = weight / len(COURTS)
                    mean += part * (cell.best - Cell(cell.court, serve, self._posterior(cell.court, serve), ()).best)
                    variance += part * part * cell.variance
        return mean, variance

    def lead_by(self, kind: str, chances: int, cells: Iterable[Cell]) -> float:
        """Return the standard deviation of `lead` after this many more first serves in one kind of count."""
        court = KINDS[kind]
        cell, weight = self.cell(court, cells), self._first * (1.0 if court is None else 1.0 / len(COURTS))
        return weight * float((cell.variance * chances / (sum(cell.alphas) + chances)) ** 0.5)

    def usual(self, share: float) -> float:
        """Return the prior probability of a favourite spot: the mean over both courts, for first serves."""
        return sum(Cell(c, "first", self._posterior(c, "first"), ()).favourite(share) for c in COURTS) / 2

    def _posterior(
        self, court: str | None, serve: str, counts: Sequence[float] = (0.0,) * len(SPOTS)
    ) -> tuple[float, ...]:
        tables = [self._usual[serve][court]] if court else [self._usual[serve][one] for one in COURTS]
        total = float(self.totals[serve])
        return tuple(total * sum(table[i] for table in tables) / len(tables) + count for i, count in enumerate(counts))
