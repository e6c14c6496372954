"""From matched rules back to the tactics they belong to."""

from tacticapi.domain.reasoning import Firing, Firings, Inference
from tacticapi.domain.rules import Rulebook


def read_firings(inference: Inference, rulebook: Rulebook) -> Firings:
    """Group the matches by tactic: firings of its alternatives, and its counter-indications that hold.

    Rule ids are tactic/<id>/<n> and unless/<id>/<n>; candidates and circumstances are not tactics' firings.
    """
    firings: dict[str, list[Firing]] = {}
    counters: dict[str, set[int]] = {}
    for match in inference.matches:
        prefix, _, rest = match.rule.partition("/")
        tactic, _, number = rest.rpartition("/")
        if prefix == "tactic":
            facts = tuple(inference.facts[fact] for fact in match.facts)
            firings.setdefault(tactic, []).append(Firing(rulebook.tactics[tactic], int(number), facts))
        elif prefix == "unless":
            counters.setdefault(tactic, set()).add(int(number))
    return Firings(
        {tactic: tuple(found) for tactic, found in firings.items()},
        {tactic: tuple(sorted(numbers)) for tactic, numbers in counters.items()},
    )
