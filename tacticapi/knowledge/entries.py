"""The entries of all rule files, each with the place that it came from."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tacticapi.knowledge.document import Document, read_document
from tacticapi.knowledge.folders import RuleFile, rule_files
from tacticapi.knowledge.mistakes import Mistake, Pointer, RuleFileError, pointer_text
from tacticapi.knowledge.shape import shape_mistakes

LISTS = {
    "sources": ("sources", "key"),
    "observations": ("kinds", "id"),
    "qualities": ("qualities", "id"),
    "traits": ("traits", "id"),
    "categories": ("categories", "id"),
    "moments": ("moments", "moment"),
    "circumstances": ("circumstances", "id"),
    "tactics": ("tactics", "id"),
    "places": ("places", "tactic"),
    "gains": ("gains", "id"),
    "figures": ("figures", "tactic"),
}
OURS_ONLY = ("qualities", "categories", "moments", "defaults", "gains", "court", "danger-signs")


@dataclass(frozen=True, slots=True)
class Entry:
    """One item of a rule file: its data, where it stands, and whether it is a house rule."""

    document: Document
    at: Pointer
    data: dict[str, Any]
    house: bool = False

    @property
    def category(self) -> str:
        """The category of the tactics in its file; empty where there is none or it is no text."""
        named = self.document.content.get("category")
        return named if isinstance(named, str) else ""

    def mistake(self, at: Pointer, found: str, expected: str) -> Mistake:
        """A mistake at a field of this entry."""
        return self.document.mistake((*self.at, *at), found, expected)


@dataclass(slots=True)
class Entries:
    """All entries by kind of file and id, in file order.

    `named` also knows the ids of entries that are left out for a mistake in them, so that one mistake is told once.
    """

    by_kind: dict[str, dict[str, Entry]] = field(default_factory=lambda: {kind: {} for kind in LISTS})
    named: dict[str, set[str]] = field(default_factory=lambda: {kind: set() for kind in LISTS})
    defaults: Entry | None = None
    court: Entry | None = None
    danger: Entry | None = None
    house: list[Entry] = field(default_factory=list)
    contents: list[tuple[str, Any]] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)

    def of(self, kind: str) -> dict[str, Entry]:
        """The sound entries of one kind of file, by id."""
        return self.by_kind[kind]

    def data(self, kind: str, name: str) -> dict[str, Any] | None:
        """The data of one entry, None where there is none or it is not sound."""
        entry = self.by_kind[kind].get(name)
        return entry.data if entry else None


def house_places(paths: Sequence[Path]) -> dict[str, str]:
    """The file and line of each tactic, circumstance and trait of the house rules, by id."""
    entries = read_entries(paths)
    return {
        name: f"{one.file}:{one.line}"
        for kind in ("tactics", "circumstances", "traits")
        for name, entry in entries.of(kind).items()
        if entry.house
        for one in [entry.mistake((), "", "")]
    }


def read_entries(paths: Sequence[Path]) -> Entries:
    """Read every rule file of these folders; what is wrong is gathered in `mistakes`."""
    entries = Entries()
    for folder in paths:
        if not folder.is_dir():
            entries.mistakes.append(Mistake(str(folder), 1, "", "nothing", "a folder of rule files"))
    for file in rule_files(paths):
        _read_file(file, entries)
    return entries


def _read_file(file: RuleFile, entries: Entries) -> None:
    wrong = _misplaced(file)
    if wrong or file.kind is None:
        entries.mistakes.append(Mistake(str(file.path), 1, "", f"the file {file.name}", wrong or "a known place"))
        return
    try:
        document = read_document(file.path)
    except RuleFileError as error:
        entries.mistakes += error.mistakes
        return
    mistakes = list(shape_mistakes(document, file.kind))
    entries.mistakes += mistakes
    entries.contents.append((file.name, document.content))
    if file.kind in LISTS:
        _sort_in(file, document, mistakes, entries)
    elif not mistakes:
        entry = Entry(document, (), document.content, file.house)
        if file.kind == "house":
            entries.house.append(entry)
        elif file.kind == "court":
            entries.court = entry
        elif file.kind == "danger-signs":
            entries.danger = entry
        else:
            entries.defaults = entry


def _misplaced(file: RuleFile) -> str | None:
    if file.kind is None:
        return "a rule file of a known name, or one in observations, traits, circumstances or tactics"
    if file.house and file.kind in OURS_ONLY:
        return "house rules without this file: only our own rules have it"
    if not file.house and file.kind == "house":
        return "house.yaml in a folder of house rules only"
    return None


def _sort_in(file: RuleFile, document: Document, mistakes: Sequence[Mistake], entries: Entries) -> None:
    assert file.kind is not None
    key, id_field = LISTS[file.kind]
    known, named = entries.by_kind[file.kind], entries.named[file.kind]
    for place, data in _items(document.content, key):
        entry = Entry(document, (key, place), data, file.house)
        name = data.get(id_field)
        if isinstance(name, str) and name in named:
            entries.mistakes.append(entry.mistake((id_field,), f'"{name}" again', "an id used once"))
            continue
        if isinstance(name, str):
            named.add(name)
        prefix = pointer_text(entry.at)
        if isinstance(name, str) and not any((m.field + "/").startswith(prefix + "/") for m in mistakes):
            known[name] = entry


def _items(content: Any, key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    found = content.get(key) if isinstance(content, dict) else None
    for place, data in enumerate(found if isinstance(found, list) else ()):
        if isinstance(data, dict):
            yield place, data
