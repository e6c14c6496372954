"""Hold the advice against invented opponents of whom all is known: python -m tests.rehearsal --help."""

import sys

import click

from tests import rehearsal

MAX_OPPONENTS = 100_000


@click.command()
@click.option("--opponents", default=200, show_default=True, type=click.IntRange(1, MAX_OPPONENTS), help="How many.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(0), help="Same seed, same opponents.")
@click.option("--processes", default=2, show_default=True, type=click.IntRange(1, 64), help="That work side by side.")
@click.option("--all-lines", is_flag=True, help="Also rehearse with one thing changed at a time; takes a while.")
@click.option("--fit", is_flag=True, help="Print what tactics are worth in that world, as in rules/gains.yaml.")
def rehearse(opponents: int, seed: int, processes: int, all_lines: bool, fit: bool) -> None:
    """Meet invented opponents with our rules, and print as Markdown what the advice reached, and how honest it was.

    The same seed gives the same report, whatever the number of processes. Needs no database.

    \b
    Example:
      python -m tests.rehearsal --opponents 200 --seed 1 --processes 2 > rehearsal.md
      python -m tests.rehearsal --fit --opponents 3000 --seed 201 > rules/gains.yaml
    """
    lines = rehearsal.LINES if all_lines else ()
    with click.progressbar(length=1_000, label="Rehearsing", file=sys.stderr) as bar:

        def progress(done: int, total: int) -> None:
            bar.update(1_000 * done // total - bar.pos)

        try:
            if fit:
                told = rehearsal.suggested_gains(opponents, seed, processes, progress)
            else:
                told = rehearsal.render(rehearsal.rehearse(opponents, seed, processes, lines, progress))
        except ValueError as error:
            raise click.BadParameter(str(error), param_hint="'--opponents'") from None
    click.echo(told, nl=False)


if __name__ == "__main__":
    rehearse(prog_name="python -m tests.rehearsal")
