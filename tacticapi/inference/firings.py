"""From matched rules back to the tactics they belong to."""

from tacticapi.domain.reasoning import Fact, Firing, Firings, Inference
from tacticapi.domain.rules import Rulebook


def read_firings(inference: Inference, rulebook: Rulebook) -> Firings:
    """Group the matches by tactic: firings of its alternatives, and its counter-indications that hold.

    Rule ids are tactic/<id>/<n> and unless/<id>/<n>; candidates and circumstances are not tactics' firings.
    """
    fired: list[tuple[str, int, tuple[Fact, ...]]] = []
    counters: dict[str, set[int]] = {}
    for match in inference.matches:
        prefix, _, rest = match.rule.partition("/")
        tactic, _, number = rest.rpartition("/")
        if prefix == "tactic":
            fired.append((tactic, int(number), tuple(inference.facts[fact] for fact in match.facts)))
        elif prefix == "unless":
            counters.setdefault(tactic, set()).add(int(number))
    firings: dict[str, list[Firing]] = {}
    for tactic, place, facts in fired:
        firings.setdefault(tactic, []).append(Firing(rulebook.tactics[tactic], place, facts))
    return Firings(
        {tactic: tuple(found) for tactic, found in firings.items()},
        {tactic: tuple(sorted(numbers)) for tactic, numbers in counters.items()},
    )
