"""Circumstances just at and just beyond the point from which they hold, by the laws of scoring and the rule files."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.inference.circumstances import COMPUTED, View, holding
from tacticapi.inference.danger import DangerReader
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import next_point

Write = Callable[..., Situation]
Holds = Callable[..., set[str]]


@pytest.fixture(scope="module")
def holds(rulebook: Rulebook, situation: Write) -> Holds:
    reader = DangerReader(rulebook)

    def ask(importance: float | None = None, **wire: Any) -> set[str]:
        asked = situation(**wire)
        state = read_score(Format.from_wire(asked.context.get("format")), asked.score) if asked.score else None
        point = next_point(state) if state else None
        return set(
            holding(
                View(asked, rulebook.defaults, state, point, importance, health=reader.read(asked)), frozenset(COMPUTED)
            )
        )

    return ask


def at(games: str, sets: str = "", points: str = "0-0", server: str | None = "own", **wire: Any) -> dict[str, Any]:
    played = [[int(n) for n in one.split("-")] for one in [*sets.split(), games]]
    score: dict[str, Any] = {"sets": played[:-1], "games": played[-1], "points": points.split("-")}
    return {"score": score | ({"server": server} if server else {}), **wire}


@pytest.mark.parametrize(
    ("name", "so", "not_so"),
    [
        ("no-games-yet", [at("0-0")], [at("1-0"), at("0-1"), at("0-0", "6-4"), {}]),
        (
            "first-games",
            [at("0-0"), at("3-0"), at("1-2")],
            [at("3-1"), at("0-0", "6-0"), {}, at("1-1", moment="before-match"), {"moment": "after-match"}],
        ),
        ("games-one-to-four", [at("4-0"), at("2-2"), {"moment": "after-warm-up"}], [at("3-2"), at("0-0", "6-0"), {}]),
        ("ahead", [at("1-0"), at("0-1", "6-4")], [at("0-0"), at("0-1"), at("1-0", "4-6"), {}]),
        ("behind", [at("0-1"), at("1-0", "4-6")], [at("0-0"), at("1-0"), at("0-1", "6-4"), {}]),
        (
            "level",
            [at("0-0"), at("1-0", server="opponent"), at("2-2", "6-4 4-6")],
            [at("1-0"), at("2-0"), at("2-2", "6-4"), {}],
        ),
        ("one-break-behind", [at("0-2"), at("1-3")], [at("0-1", server="own"), at("0-3", server="opponent"), {}]),
        ("two-breaks-behind", [at("0-4"), at("0-5"), at("0-3", server="opponent")], [at("0-2"), at("1-3"), {}]),
        (
            "far-behind",
            [at("0-4"), at("0-2", "4-6")],
            [at("0-2"), at("0-2", "6-4"), at("2-0", "4-6"), at("0-0", "4-6"), {}],
        ),
        (
            "outclassed",
            [at("0-4"), at("0-5"), at("1-5"), at("0-0", "1-6"), at("2-2", "6-4 0-6")],
            [at("0-3"), at("1-4"), at("2-5"), at("4-0"), at("0-0", "2-6"), at("0-0", "0-6 6-0"), {}],
        ),
        (
            "own-serves-for-set",
            [at("5-4"), at("5-0"), at("6-5")],
            [at("4-3"), at("5-5"), at("4-5"), at("5-4", server="opponent"), at("6-6", points="6-0"), at("0-0"), {}],
        ),
        (
            "opponent-serves-for-set",
            [at("4-5", server="opponent"), at("5-6", server="opponent")],
            [at("3-4", server="opponent"), at("5-4", server="opponent"), at("4-5"), at("6-6", points="0-6"), {}],
        ),
        ("tie-break-near", [at("5-5"), at("6-5"), at("5-6")], [at("5-4"), at("4-5"), at("6-6", points="1-0"), {}]),
        ("tie-break-now", [at("6-6", points="1-0")], [at("5-5"), at("6-5"), {}]),
        (
            "change-with-rest",
            [{}, at("0-0", "6-4"), at("2-1"), at("1-2")],
            [at("1-0"), at("0-1"), at("6-6", points="3-3"), at("2-1", moment="set-break")],
        ),
    ],
)
def test_a_circumstance_of_the_score_holds_from_here_and_not_before(
    holds: Holds, name: str, so: list[dict[str, Any]], not_so: list[dict[str, Any]]
) -> None:
    assert [wire for wire in so if name not in holds(**wire)] == []
    assert [wire for wire in not_so if name in holds(**wire)] == []


def test_where_nobody_knows_who_serves_a_lead_of_two_games_is_a_break(holds: Holds) -> None:
    """One game more may be the server's own; two are at least one break."""
    for games, told in (
        ("0-1", set()),
        ("0-2", {"one-break-behind"}),
        ("1-4", {"one-break-behind"}),
        ("0-4", {"two-breaks-behind", "far-behind"}),
    ):
        names = {"one-break-behind", "two-breaks-behind", "far-behind"}
        assert holds(**at(games, server=None)) & names == told, games


def test_a_match_that_is_over_has_nobody_serving_for_it(holds: Holds) -> None:
    over = at("0-0", "6-4 6-4", moment="after-match")
    names = {"own-serves-for-set", "opponent-serves-for-set", "tie-break-near", "first-games", "games-one-to-four"}
    assert not holds(**over) & names


def test_a_point_is_big_from_one_limit_on_and_easy_up_to_the_other(holds: Holds, rulebook: Rulebook) -> None:
    easy, big = (rulebook.defaults["score"][name] for name in ("easy_point", "important_point"))
    for importance, told in (
        (big, {"important-point"}),
        (big - 0.001, set()),
        (easy + 0.001, set()),
        (easy, {"easy-point"}),
        (0.001, {"easy-point"}),
        (0.0, set()),  # a point that decides nothing is no easy one
        (None, set()),
    ):
        assert holds(importance, **at("0-0")) & {"important-point", "easy-point"} == told, importance


@pytest.mark.parametrize(
    ("unforced", "of", "expected"),
    [(4, 8, {"losing-by-own-errors"}), (2, 8, {"losing-to-better-play"}), (7, 7, set()), (0, 7, set())],
)
def test_eight_lost_points_are_enough_to_judge(holds: Holds, unforced: int, of: int, expected: set[str]) -> None:
    told = holds(own_errors={"unforced": unforced, "of": of})
    assert told & {"losing-by-own-errors", "losing-to-better-play"} == expected


def test_points_on_serve_and_on_return_are_judged_together(holds: Holds) -> None:
    names = {"winning-points", "losing-points"}
    for serve, back, told in (
        ((9, 10), (2, 10), {"winning-points"}),  # 11 of 20
        ((2, 10), (5, 10), {"losing-points"}),  # 7 of 20
        ((10, 10), (9, 9), set()),  # nineteen are too few
        ((20, 20), (0, 0), {"winning-points"}),
    ):
        played = {side: {"won": won, "of": of} for side, (won, of) in (("on_serve", serve), ("on_return", back))}
        assert holds(points_played=played) & names == told


def test_only_the_last_note_of_the_last_points_counts(holds: Holds) -> None:
    notes = [{"what": "record.last_points", "value": value} for value in ("LLL", "WWW")]
    names = {"points-lost-in-row", "points-won-in-row"}
    assert holds(observations=notes) & names == {"points-won-in-row"}
    assert holds(observations=notes[::-1]) & names == {"points-lost-in-row"}
    assert holds(observations=[]) & names == set()


def test_returns_of_each_wing_are_counted_for_themselves(holds: Holds) -> None:
    for wing, other in (("backhand", "forehand"), ("forehand", "backhand")):
        seen = [{"what": f"return.{wing}_in", "count": 0, "of": 6}, {"what": f"return.{other}_in", "count": 5, "of": 5}]
        told = {name for name in holds(observations=seen) if name.startswith("returns-counted")}
        assert told == {f"returns-counted-{wing}"}


@pytest.mark.parametrize(
    ("wire", "name", "so"),
    [
        ({"context": {"wind": {"strength": "moderate", "direction": {"north": "cross"}}}}, "wind-across", True),
        ({"context": {"wind": {"strength": "moderate", "direction": {"south": "against"}}}}, "wind-with", True),
        ({"context": {"wind": {"strength": "moderate"}}}, "wind-strong", False),
        ({"context": {"wind": {"strength": "moderate"}}}, "wind-moderate", True),
        ({"context": {"wind": {"strength": "light"}}}, "wind-moderate", False),
        ({"context": {"sun": "south"}}, "sun-in-play", True),
        ({"context": {"sun": "both"}}, "sun-in-play", True),
        ({"own": {"pain_now": 0.5}}, "own-pain", False),
        ({"own": {"age_band": "U14"}}, "under-14", True),
        ({"own": {"age_band": "U18"}}, "under-14", False),
        ({"own": {"age_band": "U14"}}, "opponent-under-14", False),
        ({"context": {"age_band": "U12"}}, "opponent-under-14", True),
        ({"context": {"age_band": "70+"}}, "senior", True),
        ({"opponent": {"age_band": "U18"}}, "senior", False),
        ({"opponent": {"age_band": "60+"}}, "under-18", False),
        ({"observations": [{"what": "physical.warning_sign", "value": "dizzy"}]}, "warning-sign", True),
        ({"observations": [{"what": "movement.footing", "seen": True}]}, "warning-sign", False),
        ({"context": {"heat": {"air_c": 20}}}, "hot", False),
        ({"context": {"heat": {"wbgt": 27.9}}}, "hot", False),
        ({"context": {"heat": {"air_c": -5}}}, "hot", False),
    ],
)
def test_the_day_and_the_people_at_their_edges(holds: Holds, wire: dict[str, Any], name: str, so: bool) -> None:
    assert (name in holds(**wire)) is so
