"""Where rule files lie, and what kind each one is."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tacticapi import settings

_BY_NAME = {
    "sources.yaml": "sources",
    "categories.yaml": "categories",
    "moments.yaml": "moments",
    "places.yaml": "places",
    "gains.yaml": "gains",
    "court.yaml": "court",
    "figures.yaml": "figures",
    "danger-signs.yaml": "danger-signs",
    "qualities.yaml": "qualities",
    "defaults.yaml": "defaults",
    "house.yaml": "house",
}
_BY_FOLDER = {"observations", "traits", "tactics", "circumstances"}


@dataclass(frozen=True, slots=True)
class RuleFile:
    """One rule file: its kind, the folder it came from, and whether that folder holds house rules."""

    path: Path
    name: str
    kind: str | None
    house: bool


def our_rules() -> Path:
    """The rules of this version: beside the modules in a wheel, at the top of a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "rules"
    return inside if inside.is_dir() else package.parent / "rules"


def rule_paths() -> list[Path]:
    """Our rules first, then the folders of house rules named in the variable TACTICAPI_RULES."""
    named = settings.RULES.read().split(os.pathsep)
    return [our_rules(), *(Path(name) for name in named if name)]


def rule_files(paths: Sequence[Path]) -> list[RuleFile]:
    """All rule files of these folders in a fixed order, cases left out; the first folder is ours.

    `kind` is None for a YAML file whose place says nothing about what it is.
    """
    return [file for place, folder in enumerate(paths) for file in _files_of(folder, place > 0)]


def _files_of(folder: Path, house: bool) -> Iterator[RuleFile]:
    for path in sorted(folder.rglob("*.yaml")):
        if path.name.endswith(".cases.yaml"):
            continue
        parts = path.relative_to(folder).parts
        kind = _BY_NAME.get(parts[0]) if len(parts) == 1 else None
        if len(parts) == 2 and parts[0] in _BY_FOLDER:
            kind = parts[0]
        yield RuleFile(path, "/".join(parts), kind, house)
