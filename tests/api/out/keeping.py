"""A kept match for tests of what reads it: the demo's players, with advice, tries, and a score played to its end."""

from dataclasses import dataclass
from pathlib import Path

from tacticapi.advice import Adviser
from tacticapi.club import Services, advising, clubs, entries, matches, players, scorekeeping
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation
from tacticapi.store import open_engine, upgrade
from tacticapi.store.engine import file_url

LOW_BALL = "make-serve-and-volleyer-volley-low"
LATE = {"sets": [[6, 4]], "games": [5, 3], "points": ["0", "0"], "server": "own"}


@dataclass(frozen=True)
class Ids:
    """The ids of what was made."""

    club: str
    own: str
    opponent: str
    match: str


def new_services(folder: Path, adviser: Adviser) -> Services:
    """Services over a new SQLite file, `kept.db`."""
    url = file_url(folder / "kept.db")
    upgrade(url)
    return Services(open_engine(url), adviser)


def kept_match(services: Services, club: str | None = None, *, opponent_label: str = "Sleet", end: bool = True) -> Ids:
    """The demo match as it is kept, ended unless told otherwise."""
    demo = demo_situation("after-match")
    club = club or clubs.create(services, "Two Kilns").club_id
    own = players.create(services, club, "own", f"Larch against {opponent_label}", demo["own"]).id
    opponent = players.create(services, club, "opponent", opponent_label, demo["opponent"]).id
    match = matches.create(services, club, own, opponent, context=demo["context"], first_server="own").id
    scorekeeping.add_point(services, club, match, {"winner": "opponent", "own_error": True})
    entries.add_observations(services, club, match, demo["observations"][:26])
    live = advising.live_advice(services, club, match, Moment.CHANGE_OF_ENDS)
    advising.add_feedback(
        services, club, live.id, live.advice.suggestions[0].tactic, kind="not-used", reason="too early"
    )
    entries.add_observations(services, club, match, demo["observations"][26:])
    advising.live_advice(services, club, match, Moment.SET_BREAK)
    scorekeeping.add_tries(services, club, match, {"tactic": LOW_BALL, "tried": 10, "won": 7})
    scorekeeping.add_point(services, club, match, {"score": LATE})
    for winner in ("own", "own", "opponent", "own", "own"):
        scorekeeping.add_point(services, club, match, {"winner": winner})
    if end:
        matches.end(services, club, match)
    return Ids(club, own, opponent, match)
