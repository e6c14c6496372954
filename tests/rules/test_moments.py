"""How much is said at each moment, and to whom."""

import pytest

from ..builders import scored, tally
from ..cases import cases

MOST = {
    "before-match": 5,
    "after-warm-up": 3,
    "between-points": 1,
    "change-of-ends": 2,
    "set-break": 3,
    "after-match": 5,
}
BETWEEN_POINTS = {"serve", "return", "score-and-pressure", "tempo"}
BOOKED = [case.suggested for case in cases()]


def at(moment):
    return [body for body in BOOKED if body["moment"] == moment and "limit" not in body]


def counted(asker, body):
    """Lines shown at the limit of the moment; care of the body is on top of it and takes no place."""
    answer = asker.ask(body, limit=None)
    care = {line.tactic for line in answer.advice.safety}
    return sum(suggestion.tactic not in care for suggestion in answer.advice.suggestions)


@pytest.mark.parametrize("moment", MOST)
def test_no_moment_says_more_than_can_be_carried_out(asker, moment):
    bodies = at(moment)[::2] or [{"moment": moment}]
    told = [counted(asker, body) for body in bodies]
    assert max(told) <= MOST[moment]


def test_a_change_of_ends_leaves_at_most_two_intentions_and_often_uses_them(asker):
    told = [counted(asker, body) for body in at("change-of-ends")[::2]]
    assert len(told) > 100
    assert max(told) == 2


def test_between_points_only_serve_return_score_and_tempo_speak(asker, rulebook):
    everything = {
        "moment": "between-points",
        "context": {"surface": "grass", "wind": {"strength": "strong", "direction": {"north": "with"}}},
        "own": {"handedness": "right", "serve_placement": 3, "volley": 3, "slice_backhand": 3, "topspin_height": 3},
        "opponent": {"handedness": "left"},
        "own_errors": {"unforced": 6, "of": 10},
        "score": scored("2-3", points="30-40"),
        "observations": [tally("rally.ran_round_backhand", 8, 10)],
    }
    bodies = [everything, *at("between-points")]
    shown = {s.category for body in bodies for s in asker.ask(body).advice.suggestions}
    assert shown
    assert shown <= BETWEEN_POINTS
    held = {h.tactic for h in asker.ask(everything).advice.held_back if h.reason == "moment"}
    assert {rulebook.tactics[name].category for name in held} - BETWEEN_POINTS


@pytest.mark.parametrize(
    "band", [{"own": {"age_band": "U12"}}, {"opponent": {"age_band": "U14"}}, {"context": {"age_band": "U18"}}]
)
def test_a_junior_hears_at_most_two_tactical_lines(asker, rulebook, band):
    lines = []
    for body in [b for b in BOOKED if b["moment"] in ("set-break", "change-of-ends")][::8]:
        junior = {**body, **{who: {**body.get(who, {}), **ages} for who, ages in band.items()}}
        suggestions = asker.ask(junior).advice.suggestions
        tactical = [s for s in suggestions if rulebook.tactics[s.tactic].authority != 1]  # safety is no tactic
        lines.append(sum(rulebook.categories[s.category].tactical for s in tactical))
    assert max(lines) == 2


def test_a_grown_up_may_hear_more(asker, rulebook):
    lines = [
        sum(rulebook.categories[s.category].tactical for s in asker.ask(body).advice.suggestions)
        for body in BOOKED
        if body["moment"] == "set-break"
    ]
    assert max(lines) > 2
