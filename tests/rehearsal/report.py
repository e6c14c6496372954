"""A rehearsal in words: Markdown tables, a verdict on every bar, and reliability curves as an SVG picture."""

from collections.abc import Iterable, Sequence
from typing import Final

from tests.rehearsal.measures import Honest, Interval, TraitRecord
from tests.rehearsal.outcome import Stage
from tests.rehearsal.rehearse import LineResult, Report

BARS: Final = {Stage.WARM_UP: 0.25, Stage.FOUR_GAMES: 0.50, Stage.SET: 0.65}  # share of the best gain
HARM_BAR: Final = 0.10
CALIBRATION_BARS: Final = {Stage.WARM_UP: 0.08, Stage.FOUR_GAMES: 0.05, Stage.SET: 0.05}
COVERAGE_BAR: Final = (0.70, 0.90)
TACTICS_SHOWN, TRAITS_SHOWN, SHARES_SHOWN = 20, 60, 25


def render(report: Report) -> str:
    """The whole report as Markdown text."""
    first = report.lines[0]
    parts = [
        f"Opponents: {first.opponents}, seed {report.seed}, rulebook {report.digest[:19]}.",
        "### Share of the best possible gain, and harm", _reached(first),
        "### Honest confidence", _honest(first),
    ]  # fmt: skip
    parts += ["### What the best prices alone reach", _by_price(first)]
    if report.readable:
        parts += ["### What a trained reader reaches from the same notes", _readable(report)]
    if len(report.lines) > 1:
        parts += ["### What changes when one thing changes", _lines(report.lines)]
    for stage in Stage:
        parts += [f"### Tactics suggested {stage}", _tactics(report, stage)]
    parts += [
        "### Beliefs after a set",
        _traits(report.traits),
        "### Defaults that this world would suggest",
        _fits(report),
    ]
    return "\n\n".join(parts) + "\n"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _interval(x: Interval) -> str:
    return f"{x.value:.2f} ({x.low:.2f} to {x.high:.2f})"


def _verdict(met: bool) -> str:
    return "met" if met else "**missed**"


def _reached(line: LineResult) -> str:
    head = ["stage", "advice", "bar", "", "random tactics", "harm of advice", "bar", "", "harm of random",
            "gain a point", "best gain", "playable"]  # fmt: skip
    rows = [
        [r.stage, _interval(r.advised), f"> {BARS[r.stage]:.2f}", _verdict(r.advised.value > BARS[r.stage]),
         _interval(r.drawn), _interval(r.harm), f"< {HARM_BAR:.2f}", _verdict(r.harm.value < HARM_BAR),
         f"{r.drawn_harm:.2f}", f"{r.gain:+.4f}", f"{r.best_gain:+.4f}", f"{r.on_court:.2f}"]
        for r in line.reached
    ]  # fmt: skip
    return _table(head, rows)


def _honest(line: LineResult) -> str:
    head = [
        "stage",
        "calibration error",
        "bar",
        "",
        "Brier score",
        "of the priors alone",
        "80 % gain intervals hold",
        "bar",
        "",
    ]
    low, high = COVERAGE_BAR
    rows = [
        [h.stage, f"{h.calibration_error:.3f}", f"<= {CALIBRATION_BARS[h.stage]:.2f}",
         _verdict(h.calibration_error <= CALIBRATION_BARS[h.stage]), f"{h.brier:.3f}", f"{h.brier_of_priors:.3f}",
         f"{h.coverage:.2f} of {h.intervals}", f"{low:.2f} to {high:.2f}", _verdict(low <= h.coverage <= high)]
        for h in line.honest
    ]  # fmt: skip
    return _table(head, rows)


def _by_price(line: LineResult) -> str:
    head = ["stage", "advice", "priced by the beliefs", "by the truth behind the beliefs", "by what each adds alone"]
    rows = [
        [r.stage, *(f"{x:.2f}" for x in (r.advised.value, r.by_price.beliefs, r.by_price.truths, r.by_price.singles))]
        for r in line.reached
    ]
    return _table(head, rows)


def _readable(report: Report) -> str:
    head = ["stage", "own ratings alone", "with the counts", "with the beliefs", "with the truth behind the beliefs",
            "advice"]  # fmt: skip
    rows = [
        [r.stage, f"{r.own:.2f}", "" if r.counts is None else f"{r.counts:.2f}", f"{r.beliefs:.2f}", f"{r.truths:.2f}",
         f"{a.advised.value:.2f}"]
        for r, a in zip(report.readable, report.lines[0].reached, strict=True)
    ]  # fmt: skip
    return _table(head, rows)


def _lines(lines: Sequence[LineResult]) -> str:
    stages = list(Stage)
    head = ["run", "opponents", *(f"share {s}" for s in stages), *(f"harm {s}" for s in stages),
            *(f"calibration {s}" for s in stages)]  # fmt: skip
    rows = [
        [line.name, str(line.opponents), *(_interval(r.advised) for r in line.reached),
         *(f"{r.harm.value:.2f}" for r in line.reached), *(f"{h.calibration_error:.3f}" for h in line.honest)]
        for line in lines
    ]  # fmt: skip
    return _table(head, rows)


def _tactics(report: Report, stage: Stage) -> str:
    head = ["tactic", "times", "gain claimed", "gain in this world"]
    rows = [
        [t.tactic, str(t.times), f"{t.claimed:+.4f}", f"{t.true:+.4f}" if t.on_court else "not expressed"]
        for t in report.tactics[stage][:TACTICS_SHOWN]
    ]
    return _table(head, rows)


def _traits(records: Sequence[TraitRecord]) -> str:
    head = [
        "trait",
        "wing",
        "prior",
        "holds here",
        "mean belief",
        "Brier of the prior",
        "Brier of the belief",
        "set apart",
    ]
    rows = [
        [t.trait, t.wing or "", f"{t.prior:.2f}", f"{t.holds:.2f}", f"{t.mean:.2f}", f"{t.brier_of_prior:.3f}",
         f"{t.brier:.3f}", f"{t.sharpness:+.2f}"]
        for t in records[:TRAITS_SHOWN]
    ]  # fmt: skip
    return _table(head, rows)


def _fits(report: Report) -> str:
    strengths = _table(
        ["stage", "factor on all evidence that makes the truth most likely"],
        [[s.stage, f"{s.factor:.2f}"] for s in report.strengths],
    )
    head = ["trait", "wing", "observation", "assumed holds / not / kappa", "here holds / not / kappa"]
    rows = [
        [f.trait, f.wing or "", f.what, *("{:.2f} / {:.2f} / {:.0f}".format(*x) for x in (f.assumed, f.fitted))]
        for f in report.shares[:SHARES_SHOWN]
    ]
    return strengths + "\n\n" + _table(head, rows)


SIDE, MARGIN = 240, 46
COLOURS: Final = {Stage.WARM_UP: "#b35900", Stage.FOUR_GAMES: "#00695c", Stage.SET: "#1a3f8b"}
DASHES: Final = {Stage.WARM_UP: "2 3", Stage.FOUR_GAMES: "7 4", Stage.SET: "none"}


def reliability_picture(stages: Sequence[Honest]) -> str:
    """Reliability curves as SVG: what was said against what held, one line a stage, the diagonal being honest."""
    size = SIDE + 2 * MARGIN
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size + 120} {size}" role="img" '
        'font-family="sans-serif" font-size="11"><title>Reliability of beliefs</title>',
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{SIDE}" height="{SIDE}" fill="none" stroke="#888"/>',
        f'<path d="M{_x(0)} {_y(0)}L{_x(1)} {_y(1)}" stroke="#bbb"/>',
        *(_tick(k / 5) for k in range(6)),
        f'<text x="{size / 2}" y="{size - 8}" text-anchor="middle">probability said</text>',
        f'<text x="12" y="{size / 2}" text-anchor="middle" transform="rotate(-90 12 {size / 2})">'
        "share that held</text>",
    ]
    for place, stage in enumerate(stages):
        body.append(_curve(stage, place, size))
    return "\n".join([*body, "</svg>"]) + "\n"


def _tick(at: float) -> str:
    return (
        f'<text x="{_x(at)}" y="{MARGIN + SIDE + 14}" text-anchor="middle">{at:.1f}</text>'
        f'<text x="{MARGIN - 6}" y="{_y(at) + 4}" text-anchor="end">{at:.1f}</text>'
    )


def _curve(stage: Honest, place: int, size: int) -> str:
    colour, dash = COLOURS[stage.stage], DASHES[stage.stage]
    path = "L".join(f"{_x(said)} {_y(held)}" for said, held, _ in stage.curve)
    dots = "".join(f'<circle cx="{_x(s)}" cy="{_y(h)}" r="2.5" fill="{colour}"/>' for s, h, _ in stage.curve)
    y = MARGIN + 14 + 18 * place
    return (
        f'<path d="M{path}" fill="none" stroke="{colour}" stroke-width="1.5" stroke-dasharray="{dash}"/>{dots}'
        f'<path d="M{size - 34} {y - 4}h18" stroke="{colour}" stroke-width="1.5" stroke-dasharray="{dash}"/>'
        f'<text x="{size - 12}" y="{y}">{stage.stage}</text>'
    )


def _x(at: float) -> float:
    return round(MARGIN + at * SIDE, 1)


def _y(at: float) -> float:
    return round(MARGIN + (1.0 - at) * SIDE, 1)
