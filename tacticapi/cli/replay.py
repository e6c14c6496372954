"""tacticapi replay: what today's rules would say where advice was given before."""

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import click

from tacticapi.cli import statuses
from tacticapi.cli.desk import open_desk
from tacticapi.cli.progress import progress_over
from tacticapi.cli.text import wrapped
from tacticapi.replay import DIFFERS, LEFT_OUT, SAME, Outcome, StateRefused, advice_ids
from tacticapi.replay import replay as replayed


@click.command()
@click.argument("club_id", metavar="CLUB")
@click.option("--processes", default=1, show_default=True, type=click.IntRange(1, 64), help="That work side by side.")
@click.option("--state", type=click.Path(dir_okay=False, path_type=Path), help="Keep outcomes here, and go on from it.")
def replay(club_id: str, processes: int, state: Path | None) -> None:
    """Give all stored advice of CLUB (an id) again under today's rules; print what would differ, and why.

    Nothing kept is changed. The outcome is the same whatever the number of processes. A run that is broken off goes
    on where it ended when it is called with the same --state file. Advice from which health items were removed at
    the end of its match is left out.

    Exit status 0 where nothing differs, 3 where some advice would differ.

    \b
    Example (before new house rules are used):
      TACTICAPI_RULES=house/ tacticapi replay 0197… --processes 2 --state replay.jsonl
    """
    with open_desk() as desk:
        ids = advice_ids(desk, club_id)
        try:
            again = replayed(desk, club_id, processes=processes, state=state)
            with progress_over(again, len(ids), "Replaying") as outcomes:
                found = list(outcomes)
        except (StateRefused, OSError) as error:
            raise click.ClickException(str(error)) from None
        digest = desk.rulebook.digest
    click.echo(report(found, digest))
    if any(outcome.sort == DIFFERS for outcome in found):
        raise SystemExit(statuses.DIFFERS)


def report(outcomes: Iterable[Outcome], digest: str) -> str:
    """What was found: each piece of advice that would differ, why others were left out, and how many of each."""
    found = list(outcomes)
    blocks = [_block(outcome) for outcome in found if outcome.sort == DIFFERS]
    reasons = Counter(reason for outcome in found if outcome.sort == LEFT_OUT for reason in outcome.told)
    blocks += [wrapped(f"Left out {count}: {reason}") for reason, count in sorted(reasons.items())]
    sorts = Counter(outcome.sort for outcome in found)
    counts = f"{sorts[SAME]} the same, {sorts[DIFFERS]} would differ, {sorts[LEFT_OUT]} left out"
    return "\n\n".join([*blocks, f"{len(found)} pieces of advice under {digest}:\n{counts}"])


def _block(outcome: Outcome) -> str:
    head = f"{outcome.moment}, match {outcome.match_id}, advice {outcome.id}"
    return "\n".join([head, *(wrapped(f"- {line}", indent=2, hang=2) for line in outcome.told)])
