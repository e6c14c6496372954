"""A kept match for tests of what reads it: the demo's players, with advice, tries, and a score played to its end."""

from collections.abc import Callable, Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice import Adviser
from tacticapi.club import Services, advising, clubs, entries, matches, players, scorekeeping
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from ...databases import Played, app_on, new_database, play_to_the_end, services_of

LOW_BALL = "make-serve-and-volleyer-volley-low"
NewMatch = Callable[[str], Played]


@pytest.fixture(scope="module")
def kept_app(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    with app_on(new_database("sqlite", tmp_path_factory.mktemp("kept")), adviser, TESTING=True) as app:
        yield app


@pytest.fixture(scope="module")
def services(kept_app: Flask) -> Services:
    return services_of(kept_app)


@pytest.fixture(scope="module")
def new_match(services: Services) -> NewMatch:
    """Keeps the demo match against an opponent of this label, and ends it."""
    club = clubs.create(services, "Two Kilns").club_id

    def keep(label: str) -> Played:
        demo = demo_situation("after-match")
        own = players.create(services, club, "own", f"Larch against {label}", demo["own"]).id
        opponent = players.create(services, club, "opponent", label, demo["opponent"]).id
        match = matches.create(services, club, own, opponent, context=demo["context"], first_server="own").id
        scorekeeping.add_points(services, club, match, {"winner": "opponent", "own_error": True})
        entries.add_observations(services, club, match, demo["observations"][:26])
        live = advising.live_advice(services, club, match, Moment.CHANGE_OF_ENDS)
        first = live.advice.suggestions[0].tactic
        advising.add_feedback(services, club, live.id, first, kind="not-used", reason="too early")
        entries.add_observations(services, club, match, demo["observations"][26:])
        advising.live_advice(services, club, match, Moment.SET_BREAK)
        scorekeeping.add_tries(services, club, match, {"tactic": LOW_BALL, "tried": 10, "won": 7})
        play_to_the_end(services, club, match)
        return Played(own, opponent, match, club)

    return keep


@pytest.fixture(scope="module")
def ids(new_match: NewMatch) -> Played:
    return new_match("Sleet")


@pytest.fixture(scope="module")
def client(kept_app: Flask, services: Services, ids: Played) -> FlaskClient:
    """A client whose token has every scope of the club."""
    client = kept_app.test_client()
    token = clubs.create_token(services, ids.club, "test", clubs.SCOPES).text
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {token}"
    return client
