"""What advice on a kept match rests on, read back from the database."""

from tacticapi.club import Services
from tacticapi.club.advising import Outcome, known_snapshot, recompute, recorded
from tacticapi.club.situations import read_kept, situation
from tacticapi.domain.situation import Moment, Situation


def situation_of(services: Services, club: str, match: str, moment: Moment) -> Situation:
    with services.reading(club) as work:
        return situation(read_kept(work, match), moment, services.rulebook)


def given_again(services: Services, club: str, advice_id: str) -> Outcome:
    """Advise again on the situation that was kept with a piece of advice, and compare."""
    with services.reading(club) as work:
        snapshot = known_snapshot(work, advice_id)
        return recompute(recorded(work, snapshot, read_kept(work, snapshot.match_id)), services.adviser)
