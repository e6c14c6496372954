"""A rehearsal as one Markdown table: a row for each world, the worst first, and the mean over worlds last."""

from collections.abc import Callable, Sequence
from statistics import fmean
from typing import Final

from tests.rehearsal.measures import Honest, Reached
from tests.rehearsal.rehearse import Report, WorldResult

HOW_FAR: Final[dict[str, Callable[[Reached], float | None]]] = {
    "captured": lambda r: r.captured,
    "± of it": lambda r: r.half_width,
    "harm": lambda r: r.harm,
    "captured by price alone": lambda r: r.by_price,
    "harm by price alone": lambda r: r.harm_by_price,
    "gain intervals hold": lambda r: r.coverage,
    "error of pays-in": lambda r: r.pays_in_error,
}
HOW_HONEST: Final[dict[str, Callable[[Honest], float | None]]] = {
    "Brier, weak strokes": lambda h: h.strokes,
    "Brier, weaker wing": lambda h: h.wing_gap,
    "calibration error": lambda h: h.calibration_error,
}
PRIORS: Final[dict[str, Callable[[Honest], float | None]]] = {
    "Brier of priors, strokes": lambda h: h.strokes_prior,
    "Brier of priors, wing": lambda h: h.wing_gap_prior,
}

Row = tuple[str, list[list[float | None]]]


def render(report: Report) -> str:
    """Return the whole report as Markdown."""
    run = report.run
    names, rows = _columns(report.worlds), [_row(world) for world in worst_first(report.worlds)]
    rows.append(("mean", [_means([row[1][place] for row in rows]) for place in range(len(names))]))
    shown = [place for place in range(len(names)) if any(x is not None for _, cells in rows for x in cells[place])]
    head = ["world", *(names[place] for place in shown)]
    lines = [[world, *(_cell(cells[place]) for place in shown)] for world, cells in rows]
    return (
        f"{run.opponents} opponents a world, seed {run.seed}, usual shares shifted by N(0, {run.shift:g}), "
        f"observers err {run.manner.errs:g} times as often as usual, rules {report.digest[:19]}.\n"
        "Figures after the warm-up / four games / a set.\n\n"
        + "\n".join("| " + " | ".join(line) + " |" for line in (head, ["---"] * len(head), *lines))
        + "\n"
    )


def worst_first(worlds: Sequence[WorldResult]) -> list[WorldResult]:
    """Order worlds by the share captured, over the stages; if only beliefs were rehearsed, by those in strokes."""
    return sorted(
        worlds,
        key=lambda w: fmean(r.captured for r in w.reached) if w.reached else -fmean(h.strokes for h in w.honest),
    )


def _columns(worlds: Sequence[WorldResult]) -> list[str]:
    return [*(HOW_FAR if worlds[0].reached else ()), *HOW_HONEST, *PRIORS]


def _row(world: WorldResult) -> Row:
    far = [[read(r) for r in world.reached] for read in HOW_FAR.values()] if world.reached else []
    priors = [[read(world.honest[0])] for read in PRIORS.values()]
    return world.world, [*far, *([read(h) for h in world.honest] for read in HOW_HONEST.values()), *priors]


def _means(cells: Sequence[Sequence[float | None]]) -> list[float | None]:
    stages = ([x for x in stage if x is not None] for stage in zip(*cells, strict=True))
    return [fmean(stage) if stage else None for stage in stages]


def _cell(values: Sequence[float | None]) -> str:
    return " / ".join("" if x is None else f"{x:.3f}".replace("0.", ".", 1) for x in values)
