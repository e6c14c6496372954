"""What advice on a kept match rests on, read back from the database."""

from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment
from tacticapi.service import Desk
from tacticapi.service.advising import known_snapshot
from tacticapi.service.replay import Outcome, recompute
from tacticapi.service.situations import read_kept, situation


def situation_of(desk: Desk, club: str, match: str, moment: Moment) -> Situation:
    with desk.reading(club) as work:
        return situation(read_kept(work, match), moment, desk.rulebook)


def given_again(desk: Desk, club: str, advice_id: str) -> Outcome:
    """Advise again on the situation that was kept with a piece of advice, and compare."""
    with desk.reading(club) as work:
        return recompute(known_snapshot(work, advice_id), desk.adviser)
