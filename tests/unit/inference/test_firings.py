"""From matches to tactics: what fired on which facts, and which counter-indications hold."""

from tacticapi.domain.reasoning import Fact, Firing, Firings, Inference, Match
from tacticapi.domain.rules import FactKind
from tacticapi.inference.firings import read_firings

HAND = Fact("h", FactKind.OWN, "handedness", {"value": "right"})
LIKELY = Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": 800})


def read(make_tactic, make_rulebook, *matches):
    tactics = [make_tactic("low-slice", ()), make_tactic("lob", ())]
    book = make_rulebook(tactics)
    return book, read_firings(Inference(tuple(matches), {"h": HAND, "b": LIKELY}, "evaluator"), book)


def test_alternatives_are_gathered_by_tactic_with_their_facts_in_order(make_tactic, make_rulebook):
    book, told = read(
        make_tactic,
        make_rulebook,
        Match("tactic/lob/0", ()),
        Match("tactic/low-slice/0", ("b", "h")),
        Match("tactic/low-slice/12", ("h",)),
    )
    slice_, lob = (book.tactics[name] for name in ("low-slice", "lob"))
    assert told == Firings(
        {
            "lob": (Firing(lob, 0, ()),),
            "low-slice": (Firing(slice_, 0, (LIKELY, HAND)), Firing(slice_, 12, (HAND,))),
        },
        {},
    )


def test_counter_indications_are_told_once_each_in_their_order(make_tactic, make_rulebook):
    matches = [Match(f"unless/lob/{n}", facts) for n, facts in ((10, ("h",)), (2, ("h",)), (2, ("b",)))]
    _, told = read(make_tactic, make_rulebook, *matches, Match("unless/low-slice/0", ()))
    assert told == Firings({}, {"lob": (2, 10), "low-slice": (0,)})


def test_candidates_and_circumstances_are_no_firings(make_tactic, make_rulebook):
    matches = Match("candidate/lob/0", ("h",)), Match("circumstance/low-bounce/0", ("h",))
    assert read(make_tactic, make_rulebook, *matches)[1] == Firings({}, {})
