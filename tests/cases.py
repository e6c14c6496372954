"""Cases beside the rules: a request that suggests a tactic, a near miss, and a request far from it.

Those of a category stand in <category>.cases.yaml, further ones in <category>.more.cases.yaml.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tacticapi.rulebook.entries import shape_mistakes
from tacticapi.rulebook.files import Document, Mistake, RuleFileError, brief, our_rules, read_document


@dataclass(frozen=True, slots=True)
class Case:
    """How one tactic is tried out.

    `suggested` is a request body that must suggest it. `near_miss` is a merge patch on it after which it must not be
    suggested, for the reason `near_miss_why` (a reason for holding back, or no-match). `not_suggested` is a request
    body that does not concern it. What a case leaves out is None.
    """

    tactic: str
    suggested: Mapping[str, Any]
    near_miss: Mapping[str, Any] | None = None
    near_miss_why: str | None = None
    not_suggested: Mapping[str, Any] | None = None


def cases(paths: Sequence[Path] | None = None) -> list[Case]:
    """All cases in these folders of rules (None: ours), in file order. Raises `RuleFileError`."""
    found: list[Case] = []
    mistakes: list[Mistake] = []
    folders = [our_rules()] if paths is None else paths
    files = [path for folder in folders for path in sorted((folder / "tactics").glob("*.cases.yaml"))]
    for path in files:
        try:
            document = read_document(path)
        except RuleFileError as error:
            mistakes += error.mistakes
            continue
        wrong = [*shape_mistakes(document, "cases")] or _wrong_category(document)
        mistakes += wrong
        found += [] if wrong else [Case(**case) for case in document.content["cases"]]
    if mistakes:
        raise RuleFileError(mistakes)
    return found


def _wrong_category(document: Document) -> list[Mistake]:
    category = document.content["category"]
    expected = document.path.name.removesuffix(".cases.yaml").removesuffix(".more")
    if category == expected:
        return []
    return [document.mistake(("category",), brief(category), f"the file's own category: {expected}")]


def merge_patch(target: Any, patch: Any) -> Any:
    """`target` with `patch` laid over it (RFC 7396, section 2); neither of them is changed.

    Mappings merge, None removes a field, anything else replaces; lists are replaced whole.
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
