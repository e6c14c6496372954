"""tacticapi replay: what today's rules would say where advice was given before."""

from collections import Counter
from collections.abc import Iterable

import click

from tacticapi.cli import statuses
from tacticapi.cli.desk import open_desk
from tacticapi.cli.progress import progress_over
from tacticapi.cli.text import wrapped
from tacticapi.service import replay as stored
from tacticapi.service.replay import DIFFERS, LEFT_OUT, SAME, Outcome


@click.command()
@click.argument("club_id", metavar="CLUB")
def replay(club_id: str) -> None:
    """Give all stored advice of CLUB (an id) again under today's rules; print what would differ, and why.

    Nothing kept is changed. Advice from which health items were removed at the end of its match is left out.

    Exit status 0 where nothing differs, 3 where some advice would differ.

    \b
    Example (before new house rules are used):
      TACTICAPI_RULES=house/ tacticapi replay 0197…
    """
    with open_desk() as desk:
        count = stored.count(desk, club_id)
        with progress_over(stored.replay(desk, club_id), count, "Replaying") as outcomes:
            found = list(outcomes)
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
