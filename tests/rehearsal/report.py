"""A rehearsal as Markdown tables: a row for each world, the worst first, and the mean over worlds last."""

from collections.abc import Callable, Collection, Sequence
from statistics import fmean
from typing import Final

from tests.rehearsal.measures import Claimed, Honest, Reached
from tests.rehearsal.rehearse import Report, WorldResult

HOW_FAR: Final[dict[str, Callable[[Reached], float | None]]] = {
    "captured": lambda r: r.advised.captured,
    "± of it": lambda r: r.half_width,
    "harm": lambda r: r.advised.harm,
    "captured, free choice": lambda r: r.free.captured,
    "harm, free choice": lambda r: r.free.harm,
    "captured, old table": lambda r: r.old.captured,
    "harm, old table": lambda r: r.old.harm,
    "gain intervals hold": lambda r: r.coverage,
}
HOW_HONEST: Final[dict[str, Callable[[Honest], float | None]]] = {
    "Brier, weak strokes": lambda h: h.strokes.brier,
    "of priors": lambda h: h.strokes.prior,
    "calibration error": lambda h: h.strokes.error,
    "Brier, weaker wing": lambda h: h.wing_gap.brier,
    "prior": lambda h: h.wing_gap.prior,
    "calibration error, wing": lambda h: h.wing_gap.error,
}

Row = tuple[str, list[list[float | None]]]


def render(report: Report) -> str:
    """Return the whole report as Markdown."""
    run, worlds = report.run, worst_first(report.worlds)
    far = [(w.world, [[read(r) for r in w.reached] for read in HOW_FAR.values()]) for w in worlds if w.reached]
    held = [(w.world, [[read(h) for h in w.honest] for read in HOW_HONEST.values()]) for w in worlds]
    head = (
        f"{run.opponents} opponents a world, seed {run.seed}, usual shares shifted by N(0, {run.shift:g}), "
        f"observers err {run.manner.errs:g} times as often as usual, rules {report.digest[:19]}.\n"
        "Figures after the warm-up / four games / a set."
    )
    tables = [*([_by_world(HOW_FAR, far)] if far else ()), _by_world(HOW_HONEST, held)]
    tables += [_claims(report.claims)] if report.claims else []
    return "\n\n".join((head, *tables)) + "\n"


def worst_first(worlds: Sequence[WorldResult]) -> list[WorldResult]:
    """Order worlds by the share captured, over the stages; if only beliefs were rehearsed, by those in strokes."""
    return sorted(
        worlds,
        key=lambda w: (
            fmean(r.advised.captured for r in w.reached) if w.reached else -fmean(h.strokes.brier for h in w.honest)
        ),
    )


def _by_world(names: Collection[str], rows: list[Row]) -> str:
    means = [_means([cells[place] for _, cells in rows]) for place in range(len(names))]
    return _table(["world", *names], [[name, *map(_cell, cells)] for name, cells in (*rows, ("mean", means))])


def _claims(claims: Sequence[Claimed]) -> str:
    rows = [[f"{c.low:g} to {c.high:g}", str(c.number), _cell([c.claimed]), _cell([c.gained])] for c in claims]
    return _table(["claimed to pay in", "tactics", "claimed", "truly gain"], rows)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return "\n".join("| " + " | ".join(line) + " |" for line in (head, ["---"] * len(head), *rows))


def _means(cells: Sequence[Sequence[float | None]]) -> list[float | None]:
    stages = ([x for x in stage if x is not None] for stage in zip(*cells, strict=True))
    return [fmean(stage) if stage else None for stage in stages]


def _cell(values: Sequence[float | None]) -> str:
    return " / ".join("" if x is None else f"{x:.3f}".replace("0.", ".", 1) for x in values)
