"""The cases leave no part of any rule untried: each part of a tactic is seen to hold and not to hold in its own cases.

A part is a condition, a whole alternative, a gate or a whole counter-indication. Conditions count as the rule files
state them: one with a list under `is` or `value` holds if any of its options does.
"""

from tacticapi.rulebook.conditions import expanded
from tacticapi.rulebook.evaluator import nearest_miss

from ..cases import cases, merge_patch


def parts_of(data, levels):
    """Each part by its place in the tactic, as "when/0/all/1", with the ways in which it can hold; a gate has none."""
    parts = {}
    for section in ("when", "unless"):
        for n, alternative in enumerate(data.get(section, ())):
            parts[f"{section}/{n}"] = [*expanded(alternative["all"], levels)]
            for m, condition in enumerate(alternative["all"]):
                parts[f"{section}/{n}/all/{m}"] = [*expanded([condition], levels)]
    return parts | {f"needs/{n}": None for n, _ in enumerate(data.get("needs", ()))}


def holds(place, ways, answer, gates):
    if ways is not None:
        return any(not nearest_miss(conditions, answer.facts) for conditions in ways)
    gate = gates[int(place.removeprefix("needs/"))]
    ratings = (answer.situation.own.get(key) for key in gate.keys)
    return any(isinstance(rating, int) and rating >= gate.at_least for rating in ratings)


def requests_of(case):
    near = [] if case.near_miss is None else [merge_patch(case.suggested, case.near_miss)]
    return [case.suggested, *near, *([] if case.not_suggested is None else [case.not_suggested])]


def unseen(asker, entries, tried):
    """What of the tactics of these cases was never seen to hold, and never to fail."""
    levels, missing = asker.rulebook.defaults["levels"], []
    for tactic in {case.tactic: None for case in tried}:
        gates = asker.rulebook.tactics[tactic].needs
        answers = [asker.ask(body) for case in tried if case.tactic == tactic for body in requests_of(case)]
        for place, ways in parts_of(entries.by_kind["tactics"][tactic].data, levels).items():
            seen = {holds(place, ways, answer, gates) for answer in answers}
            never = {"holds": True, "fails": False}
            missing += [f"{tactic} {place}: never {word}" for word, so in never.items() if so not in seen]
    return missing


def test_every_alternative_condition_gate_and_counter_is_seen_to_hold_and_to_fail(asker, entries):
    tried, tactics = {case.tactic for case in cases()}, {*entries.by_kind["tactics"]}
    assert tried == tactics, "write a case for each tactic in <category>.cases.yaml, and none for other ids"
    assert unseen(asker, entries, cases()) == []
