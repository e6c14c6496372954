"""What is posted is read in one place, for a request as for what is kept."""

from dataclasses import replace

import pytest

from tacticapi.api.situations import read_situation
from tacticapi.domain.situation import Way
from tacticapi.posted import current_tactic, fact_faults, kinds_of, merged_tries, observation, observation_faults


@pytest.mark.parametrize(
    ("body", "way", "value"),
    [
        ({"what": "record.last_points", "value": "WLWW", "note": None}, Way.TEXT, "WLWW"),
        ({"what": "serve.ad_court_spots", "counts": {"wide": 2.0, "T": 1}, "court": None}, Way.COUNTS, None),
        ({"what": "return.shading", "value": "forehand", "by": "coach", "end": "north"}, Way.VALUE, "forehand"),
        ({"what": "physical.heavy_legs", "seen": False}, Way.SEEN, None),
    ],
)
def test_every_way_of_saying_is_read(body, way, value, rulebook):
    assert observation_faults(body, rulebook) == []
    read = observation(3, body, rulebook.kinds[body["what"]])
    assert (read.index, read.way, read.value) == (3, way, value)
    assert way is not Way.COUNTS or repr(read.counts) == "{'wide': 2, 'T': 1}"  # whole numbers stay whole
    asked = read_situation({"moment": "change-of-ends", "observations": [body]}, rulebook)
    assert asked.observations == (observation(0, body, rulebook.kinds[body["what"]]),)


def test_a_fact_outside_the_vocabulary_is_refused_by_its_name(rulebook):
    kinds = kinds_of(rulebook, "context")
    found = fact_faults("context", {"surface": "ice", "mood": 1, "format": {"sets": 2}, "heat": None}, kinds)
    assert [fault.path[0] for fault in found] == ["surface", "mood", "format"]


def test_a_retired_tactic_is_known_by_the_one_that_replaced_it(rulebook):
    first, second, third, fourth, fifth = list(rulebook.tactics)[:5]
    replaced = {first: second, second: third, fourth: fifth, fifth: fourth}
    retired = {id: replace(rulebook.tactics[id], deprecated=by) for id, by in replaced.items()}
    book = replace(rulebook, tactics={**rulebook.tactics, **retired})
    assert [current_tactic(id, book) for id in (first, second, third)] == [third] * 3
    assert [current_tactic(id, book) for id in (fourth, "gone")] == [None, None]
    (merged,) = merged_tries([{"tactic": id, "tried": 3, "won": 2} for id in (first, third, fourth)], book)
    assert (merged.tactic, merged.tried, merged.won) == (third, 6, 4)


def test_tries_of_one_tactic_add_up_since_it_was_chosen_and_unknown_ones_are_left_out(rulebook):
    name = next(name for name in rulebook.tactics if current_tactic(name, rulebook) == name)
    entry = {"tactic": name, "set": 2, "game": 1}
    posted = [{**entry, "tried": tried, "won": tried} for tried in (0, 2, 3)]
    told = merged_tries([*posted, {"tactic": "gone", "tried": 9, "won": 9}], rulebook)
    found = [(one.tactic, one.tried, one.won, one.played_in) for one in told]
    assert found == [(name, 0, 0, (2, 1)), (name, 5, 5, (2, 1))]
