"""The numbers of court and ball (rules/court.yaml), and what a schema cannot say about them."""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from tacticapi.knowledge.document import read_document
from tacticapi.knowledge.folders import our_rules
from tacticapi.knowledge.mistakes import Pointer, brief

CHOSEN = {"usual_surface": "surfaces", "usual_level": "spreads"}


@cache
def court_numbers() -> Mapping[str, Any]:
    """The table as it stands in our rules; house rules do not change it. Raises RuleFileError for a broken file."""
    content: Mapping[str, Any] = read_document(our_rules() / "court.yaml").content
    return content


def court_faults(court: Mapping[str, Any]) -> Iterator[tuple[Pointer, str, str]]:
    """Names that are chosen from elsewhere in the file, and values outside their own bounds."""
    for name, among in CHOSEN.items():
        if court[name] not in court[among]:
            yield (name,), brief(court[name]), f"one of {', '.join(court[among])}"
    for at, number in _numbers(court):
        low, value, high = number.get("low", number["value"]), number["value"], number.get("high", number["value"])
        if not low <= value <= high:
            yield (*at, "value"), brief(value), f"a number from {low} to {high}"


def _numbers(part: Mapping[str, Any], at: Pointer = ()) -> Iterator[tuple[Pointer, Mapping[str, Any]]]:
    for name, below in part.items():
        if isinstance(below, Mapping):
            if "value" in below:
                yield (*at, name), below
            else:
                yield from _numbers(below, (*at, name))
