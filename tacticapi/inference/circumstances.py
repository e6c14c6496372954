"""The circumstances that need arithmetic or a negation, computed before matching.

Each is the answer to one named question about a view; `rules/circumstances/computed.yaml` says in words what each
means. Circumstances that are plain conjunctions are rules, not code, and stand in the rule files.
"""

from collections.abc import Iterator

from tacticapi.inference import day_circumstances, record_circumstances, score_circumstances
from tacticapi.inference.danger import sign_circumstance
from tacticapi.inference.view import COMPUTED, READS, View

__all__ = ["COMPUTED", "PARTS", "READS", "View", "holding"]

PARTS = (score_circumstances, record_circumstances, day_circumstances)
"""The modules whose questions stand in the registry once they are imported."""


def holding(view: View, names: frozenset[str]) -> Iterator[str]:
    """Yield those of the named circumstances that hold, in the order of their registration."""
    for name, question in COMPUTED.items():
        if name in names and question(view):
            yield name
    yield from (name for name in map(sign_circumstance, view.health.signs) if name in names)
