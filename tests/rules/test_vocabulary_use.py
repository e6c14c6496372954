"""Nothing is asked for in vain: each kind and trait is used, or says why it is not."""

from pathlib import Path

import tacticapi
from tacticapi.domain.rules import FactKind
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.next_observation import UNSEEN_SUBJECTS
from tacticapi.evidence.spots import KINDS as SPOTS
from tacticapi.rulebook.facts import all_conditions

READERS = ("domain", "rulebook", "pricing", "evidence", "advice", "scoring")
PROFILES = {FactKind.OWN: "own", FactKind.OPPONENT: "opponent", FactKind.CONTEXT: "context"}


def used_by_rules(rulebook):
    used = {kind.id for kind in rulebook.kinds.values() if kind.measures} | SPOTS.keys()
    for condition in all_conditions(rulebook):
        subject = PROFILES.get(condition.kind)
        used.add(f"{subject}.{condition.name}" if subject else condition.name)
    gates = (gate for tactic in rulebook.tactics.values() for gate in tactic.needs)
    return used | {f"own.{key}" for gate in gates for key in gate.keys}


def read_by_code(rulebook):
    """Kinds that the code names: an observation by its id, an item of a request by its key."""
    package = Path(tacticapi.__file__).parent
    code = "\n".join(path.read_text() for folder in READERS for path in sorted((package / folder).glob("*.py")))
    items = set(PROFILES.values())
    return {
        kind.id for kind in rulebook.kinds.values() if f'"{kind.key if kind.subject in items else kind.id}"' in code
    }


def test_every_kind_is_used_or_says_why_not(rulebook):
    used = used_by_rules(rulebook)
    explained = {kind.id: kind.unused_because for kind in rulebook.kinds.values() if kind.unused_because}
    assert rulebook.kinds.keys() - used == explained.keys()
    told_as_read = {name for name, why in explained.items() if why.startswith("read by")}
    assert told_as_read <= read_by_code(rulebook)


def test_every_trait_is_used_by_a_tactic_or_says_why_not(rulebook):
    asked = {condition.name for condition in all_conditions(rulebook) if condition.kind is FactKind.BELIEF}
    explained = {trait.id for trait in rulebook.traits.values() if trait.unused_because}
    assert rulebook.traits.keys() - asked == explained


def test_every_quality_of_a_trait_is_shown_by_something_that_can_be_seen(rulebook):
    seen = [kind for kind in rulebook.kinds.values() if kind.subject not in UNSEEN_SUBJECTS]
    shown = {name.partition("/")[0] for kind in seen for measure in kind.measures for name in measure.loads}
    shown |= {"ends" for kind in seen for measure in kind.measures if measure.ends}
    regions = [(trait.id, region) for trait in rulebook.traits.values() for region in trait.regions]
    assert {(id, name) for id, region in regions for name in region.of if name.partition("/")[0] not in shown} == set()


def test_every_quality_is_part_of_a_trait_or_of_what_is_seen(rulebook):
    loads = [measure.loads for kind in rulebook.kinds.values() for measure in kind.measures]
    loads += [region.of for trait in rulebook.traits.values() for region in trait.regions]
    assert rulebook.qualities.keys() == {name.partition("/")[0] for part in loads for name in part}


def test_no_alternative_waits_for_a_belief_below_its_prior(rulebook):
    """Such an alternative would speak before anything is seen, unless it asks that something was."""
    priors = EvidenceModel(rulebook).priors()
    below = [
        (condition.name, test.value)
        for condition in all_conditions(rulebook)
        for test in condition.tests
        if condition.kind is FactKind.BELIEF
        and not any(other.field == "seen" for other in condition.tests)
        and test.field == "permille"
        and int(test.value) <= 1000 * max(p for (trait, _), p in priors.items() if trait == condition.name)
    ]
    assert below == []


def test_of_a_tactic_with_a_price_only_the_price_says_how_weak_is_weak_enough(entries):
    """A weakness in `when` is open as soon as something seen raised it; a mark there would decide a second time."""
    marked = [
        (name, condition)
        for name, entry in entries.by_kind["tactics"].items()
        if "price" in entry.data
        for alternative in entry.data["when"]
        for condition in alternative["all"]
        if "belief" in condition and condition.get("level") != "open"
    ]
    assert marked == []
