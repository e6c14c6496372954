"""How much is said at each moment, and to whom."""

import pytest

from ..builders import scored, tally
from ..cases import cases

MOST = {"before-match": 5, "after-warm-up": 3, "between-points": 1, "change-of-ends": 2, "set-break": 3}
MOST |= {"after-match": 5}
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
    told = [counted(asker, body) for body in at(moment)[::2] or [{"moment": moment}]]
    assert max(told) <= MOST[moment]
    if moment == "change-of-ends":  # two intentions at most, and they are often used
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


def tactical(asker, rulebook, body):
    shown = [rulebook.tactics[line.tactic] for line in asker.ask(body).advice.suggestions]
    return sum(rulebook.categories[one.category].tactical for one in shown if one.authority != 1)  # safety is no tactic


@pytest.mark.parametrize(
    "band", [{"own": {"age_band": "U12"}}, {"opponent": {"age_band": "U14"}}, {"context": {"age_band": "U18"}}]
)
def test_a_junior_hears_at_most_two_tactical_lines_and_a_grown_up_may_hear_more(asker, rulebook, band):
    bodies = [body for body in BOOKED if body["moment"] in ("set-break", "change-of-ends")][::8]
    juniors = [{**body, **{who: {**body.get(who, {}), **ages} for who, ages in band.items()}} for body in bodies]
    assert max(tactical(asker, rulebook, body) for body in juniors) == 2
    assert max(tactical(asker, rulebook, body) for body in at("set-break")) > 2
