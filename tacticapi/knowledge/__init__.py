"""Rule files ▶ Rulebook: read, checked, expanded, with version and digest.

Not here: what the rules mean for a situation (evidence, inference), HTTP. Next: `load`.
"""

from tacticapi.knowledge.conditions import PLAIN_COUNT, QUALIFIERS, part_name
from tacticapi.knowledge.court import court_numbers
from tacticapi.knowledge.entries import house_places
from tacticapi.knowledge.folders import our_rules, rule_paths
from tacticapi.knowledge.load import load
from tacticapi.knowledge.mistakes import Fault, Mistake, RuleFileError

__all__ = [
    "PLAIN_COUNT",
    "QUALIFIERS",
    "Fault",
    "Mistake",
    "RuleFileError",
    "court_numbers",
    "house_places",
    "load",
    "our_rules",
    "part_name",
    "rule_paths",
]
