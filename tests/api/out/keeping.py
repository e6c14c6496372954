"""A kept match for tests of what reads it: the demo's players, with advice, tries, and a score played to its end."""

from dataclasses import dataclass
from pathlib import Path

from tacticapi.advice import Adviser
from tacticapi.domain.terms import Moment
from tacticapi.seeds import demo_situation
from tacticapi.service import Desk, advising, clubs, feedback, matches, observations, players, points, tries
from tacticapi.store import open_engine, upgrade
from tacticapi.store.settings import file_url

LOW_BALL = "make-serve-and-volleyer-volley-low"
LATE = {"sets": [[6, 4]], "games": [5, 3], "points": ["0", "0"], "server": "own"}


@dataclass(frozen=True)
class Ids:
    """The ids of what was made."""

    club: str
    own: str
    opponent: str
    match: str


def new_desk(folder: Path, adviser: Adviser) -> Desk:
    """A desk over a new SQLite file, `kept.db`."""
    url = file_url(folder / "kept.db")
    upgrade(url)
    return Desk(open_engine(url), adviser)


def kept_match(desk: Desk, club: str | None = None, *, opponent_label: str = "Sleet", end: bool = True) -> Ids:
    """The demo match as it is kept, ended unless told otherwise."""
    demo = demo_situation("after-match")
    club = club or clubs.create(desk, "Two Kilns").club_id
    own = players.create(desk, club, "own", f"Larch against {opponent_label}", demo["own"]).id
    opponent = players.create(desk, club, "opponent", opponent_label, demo["opponent"]).id
    match = matches.create(desk, club, own, opponent, context=demo["context"], first_server="own").id
    points.add(desk, club, match, {"winner": "opponent", "own_error": True})
    observations.add_many(desk, club, match, demo["observations"][:26])
    live = advising.live_advice(desk, club, match, Moment.CHANGE_OF_ENDS)
    feedback.add(desk, club, live.id, live.advice.suggestions[0].tactic, kind="not-used", reason="too early")
    observations.add_many(desk, club, match, demo["observations"][26:])
    advising.live_advice(desk, club, match, Moment.SET_BREAK)
    tries.add(desk, club, match, {"tactic": LOW_BALL, "tried": 10, "won": 7})
    points.add(desk, club, match, {"score": LATE})
    for winner in ("own", "own", "opponent", "own", "own"):
        points.add(desk, club, match, {"winner": winner})
    if end:
        matches.end(desk, club, match)
    return Ids(club, own, opponent, match)
