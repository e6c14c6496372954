"""Hold the advice against invented opponents of whom all is known: python -m tests.rehearsal --help."""

import sys

import click

from tests import rehearsal
from tests.rehearsal.world.worlds import WORLDS

MOST_OPPONENTS = 100_000


@click.command()
@click.option("--opponents", default=150, show_default=True, type=click.IntRange(1, MOST_OPPONENTS), help="Per world.")
@click.option("--seed", default=2, show_default=True, type=click.IntRange(0), help="Same seed, same opponents.")
@click.option(
    "--shift",
    default=0.3,
    show_default=True,
    type=click.FloatRange(0, 2),
    help="Standard deviation, in log-odds, by which usual shares are moved.",
)
@click.option("--world", "worlds", multiple=True, type=click.Choice(tuple(WORLDS)), help="Default: all.")
@click.option(
    "--errs",
    default=1.0,
    show_default=True,
    type=click.FloatRange(0, 5),
    help="How many times as often as usual the observer misses and miscounts.",
)
@click.option("--beliefs-only", is_flag=True, help="Nobody is advised, beliefs alone are judged; much faster.")
@click.option("--processes", default=2, show_default=True, type=click.IntRange(1, 64), help="That work side by side.")
def rehearse(
    *, opponents: int, seed: int, shift: float, worlds: tuple[str, ...], errs: float, beliefs_only: bool, processes: int
) -> None:
    """Meet invented opponents with our rules, and print as Markdown what the advice reached, and how honest it was.

    The same seed gives the same report, whatever the number of processes. Needs no database.

    \b
    Example:
      python -m tests.rehearsal --opponents 800 --seed 2 --shift 0.3 --processes 2 > rehearsal.md
      python -m tests.rehearsal --world home --world club --beliefs-only
    """  # fmt: skip
    manner = rehearsal.Manner(errs, beliefs_only)
    run = rehearsal.Run(opponents, seed, shift, tuple(dict.fromkeys(worlds)) or tuple(WORLDS), manner)
    with click.progressbar(length=1_000, label="Rehearsing", file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.update(1_000 * done // total - bar.pos)

        report = rehearsal.rehearse(run, processes, progress)
    click.echo(rehearsal.render(report), nl=False)


if __name__ == "__main__":
    rehearse(prog_name="python -m tests.rehearsal")
