"""Nothing is asked for in vain: each kind and trait is used, or says why it is not."""

from pathlib import Path

import tacticapi
from tacticapi.domain.rules import FactKind, Rulebook
from tacticapi.rulebook.facts import all_conditions

READERS = ("domain", "rulebook", "pricing", "evidence", "advice", "scoring")
PROFILES = {FactKind.OWN: "own", FactKind.OPPONENT: "opponent", FactKind.CONTEXT: "context"}


def used_by_rules(rulebook: Rulebook) -> set[str]:
    used = {term.what for trait in rulebook.traits.values() for term in trait.terms}
    for condition in all_conditions(rulebook):
        subject = PROFILES.get(condition.kind)
        used.add(f"{subject}.{condition.name}" if subject else condition.name)
    gates = (gate for tactic in rulebook.tactics.values() for gate in tactic.needs)
    return used | {f"own.{key}" for gate in gates for key in gate.keys}


def read_by_code(rulebook: Rulebook) -> set[str]:
    """Kinds that the code names: an observation by its id, an item of a request by its key."""
    package = Path(tacticapi.__file__).parent
    code = "\n".join(path.read_text() for folder in READERS for path in sorted((package / folder).glob("*.py")))
    items = set(PROFILES.values())
    return {
        kind.id for kind in rulebook.kinds.values() if f'"{kind.key if kind.subject in items else kind.id}"' in code
    }


def test_every_kind_is_used_or_says_why_not(rulebook: Rulebook) -> None:
    used = used_by_rules(rulebook)
    explained = {kind.id: kind.unused_because for kind in rulebook.kinds.values() if kind.unused_because}
    assert rulebook.kinds.keys() - used == explained.keys()
    told_as_read = {name for name, why in explained.items() if why.startswith("read by")}
    assert told_as_read <= read_by_code(rulebook)


def test_every_trait_is_used_by_a_tactic_or_says_why_not(rulebook: Rulebook) -> None:
    asked = {condition.name for condition in all_conditions(rulebook) if condition.kind is FactKind.BELIEF}
    explained = {trait.id for trait in rulebook.traits.values() if trait.unused_because}
    assert rulebook.traits.keys() - asked == explained


def test_every_trait_has_evidence_for_it_and_against_it_or_is_a_sign(rulebook: Rulebook) -> None:
    assert [trait.id for trait in rulebook.traits.values() if not trait.terms] == []


def test_no_alternative_waits_for_a_belief_below_its_prior(rulebook: Rulebook) -> None:
    """Such an alternative would speak before anything is seen, unless it asks that something was."""
    below = [
        (condition.name, test.value)
        for condition in all_conditions(rulebook)
        for test in condition.tests
        if condition.kind is FactKind.BELIEF
        and not any(other.field == "seen" for other in condition.tests)
        and test.field == "permille"
        and int(test.value) <= 1000 * rulebook.traits[condition.name].prior
    ]
    assert below == []
