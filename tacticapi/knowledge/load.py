"""All rule files ▶ one rulebook."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tacticapi.domain.rulebook import NO_WORDS, Rulebook
from tacticapi.domain.tactic import Tactic
from tacticapi.domain.terms import Moment
from tacticapi.knowledge import build, profile
from tacticapi.knowledge.checks import authority_of, entry_mistakes
from tacticapi.knowledge.digest import digest_of
from tacticapi.knowledge.entries import Entries, read_entries
from tacticapi.knowledge.folders import our_rules
from tacticapi.knowledge.gains import with_gains
from tacticapi.knowledge.house import still_used, with_house_rules
from tacticapi.knowledge.mistakes import RuleFileError
from tacticapi.knowledge.places import place
from tacticapi.knowledge.references import reference_mistakes


def load(paths: Sequence[Path] | None = None, *, strict: bool = True) -> Rulebook:
    """Read, check and build the rulebook.

    `paths` are folders of rule files: ours first, house rules after it; None means ours alone. Without `strict`,
    names are not looked up across files, so that a file can be checked while others are still missing; the rulebook
    then leaves out what cannot be built. Raises `RuleFileError` with every mistake found.
    """
    folders = [our_rules()] if paths is None else list(paths)
    entries = read_entries(folders)
    mistakes = [*entries.mistakes, *entry_mistakes(entries)]
    if strict and folders:
        mistakes += reference_mistakes(entries, folders[0])
    if mistakes:
        raise RuleFileError(mistakes)
    return _rulebook(entries)


def _rulebook(entries: Entries) -> Rulebook:
    defaults: Mapping[str, Any] = entries.defaults.data if entries.defaults else {}
    if entries.court:
        defaults = {**defaults, "court": entries.court.data}
    qualities = entries.of("qualities")
    figures = next((entry.document.content for entry in qualities.values()), None)
    if figures:
        defaults = {**defaults, "profile": {name: figures[name] for name in profile.FIGURES}}
    levels: Mapping[str, float] | None = defaults.get("levels")
    kinds = {name: build.kind(entry.data) for name, entry in entries.of("observations").items()}
    traits = entries.of("traits")
    written = _tactics(entries, levels) if levels else {}
    tactics = with_house_rules(written, (entry.data for entry in entries.house))
    named = entries.of("circumstances") if levels else {}
    circumstances = {name: build.circumstance(entry.data, levels or {}) for name, entry in named.items()}
    return Rulebook(
        version=defaults.get("version", ""),
        digest=digest_of(entries.contents),
        defaults=defaults,
        sources={name: build.source(entry.data) for name, entry in entries.of("sources").items()},
        kinds=kinds,
        qualities={name: profile.quality(entry.data, figures["levels"]) for name, entry in qualities.items()}
        if figures
        else {},
        traits={name: build.trait(entry.data) for name, entry in traits.items()},
        categories={name: build.category(entry.data) for name, entry in entries.of("categories").items()},
        moments={Moment(name): build.moment_rule(entry.data) for name, entry in entries.of("moments").items()},
        circumstances=still_used(circumstances, written, tactics),
        tactics=tactics,
        places={name: place(entry.data) for name, entry in entries.of("places").items()},
        figures={name: entry.data["figure"] for name, entry in entries.of("figures").items()},
        danger=build.danger(entries.danger.data) if entries.danger else NO_WORDS,
    )


def _tactics(entries: Entries, levels: Mapping[str, float]) -> dict[str, Tactic]:
    built = {}
    for name, entry in entries.of("tactics").items():
        group = entry.document.content["category"]
        authority = authority_of(entry, entries)
        built[name] = build.tactic(entry.data, group, authority, entry.house, levels)
    return with_gains(built, {name: entry.data for name, entry in entries.of("gains").items()})
