"""What court and ball say in sentences, and where there is no time to tell."""

from typing import Any

import pytest
from flask.testing import FlaskClient

from .calculating import BODIES, MARGIN, POSITION, asked


@pytest.mark.parametrize(
    ("changes", "note"),
    [
        ({"ball": {"x": 0, "y": 11.885}}, "The middle of their angles is the middle of the court."),
        (
            {"ball": None, "smash": {"hand": "right"}, "own": {"top_speed_mps": 9, "acceleration_mps2": 12}},
            "Waiting 12.9 m from the net, both ways are within reach.",
        ),
    ],
)
def test_a_stand_is_told_in_a_sentence(client: FlaskClient, changes: dict[str, Any], note: str) -> None:
    assert asked(client, POSITION, **changes)["notes"][0] == note


def test_a_ball_that_they_cannot_play_at_that_speed_has_no_time(client: FlaskClient) -> None:
    told = asked(client, POSITION, ball={**BODIES[POSITION]["ball"], "speed_mps": 12})["stand"]
    usual = asked(client, POSITION)["stand"]
    assert not any("ball_s" in told["middle"][way] for way in ("line", "cross"))
    assert told["middle"]["x"] == usual["middle"]["x"]


def test_a_flat_ball_from_low_down_is_told_to_meet_the_net(client: FlaskClient) -> None:
    told = asked(client, MARGIN, contact={"x": 3.5, "y": -12.5, "height_m": 0.3}, speed_mps=75)
    assert told["shot"]["over_net_m"] < 0
    assert told["notes"][0].startswith("Struck as meant, this ball meets the net: ")
    assert not any("meets the net" in note for note in asked(client, MARGIN)["notes"])
