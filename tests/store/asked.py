"""The situation that advice on a kept match is asked for, read back from the database."""

from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment
from tacticapi.service import Desk
from tacticapi.service.situations import read_kept, situation


def situation_of(desk: Desk, club: str, match: str, moment: Moment) -> Situation:
    with desk.reading(club) as work:
        return situation(read_kept(work, match), moment, desk.rulebook)
