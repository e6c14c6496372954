"""The reference pages, made from the rulebook, the contract and the settings while the site is built.

Not here: pages that somebody writes. Next: mkdocs.yml, which names this module as a hook.
"""

from collections.abc import Callable, Iterable, Mapping
from itertools import groupby
from pathlib import Path

import yaml
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from tacticapi.domain.rules import USUAL_LEVEL, ObservationKind, Region, Rulebook, Tactic, Trait, WingRule
from tacticapi.rulebook.load import load
from tacticapi.settings import SETTINGS

ROOT = Path(__file__).parents[1]
METHODS = ("get", "post", "patch", "put", "delete")


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add every generated page to the site."""
    rulebook = load()
    pages: Mapping[str, Callable[[Rulebook], Iterable[str]]] = {
        "vocabulary": vocabulary_page,
        "traits": traits_page,
        "tactics": tactics_page,
        "sources": sources_page,
        "api": api_page,
        "settings": settings_page,
    }
    for name, lines in pages.items():
        files.append(File.generated(config, f"reference/{name}.md", content="\n".join(lines(rulebook))))
    return files


def table(header: Iterable[str], rows: Iterable[Iterable[object]]) -> Iterable[str]:
    """Yield the lines of a Markdown table; a bar in a cell is escaped, None is an empty cell."""
    header = list(header)
    yield ""
    yield f"| {' | '.join(header)} |"
    yield f"| {' | '.join('---' for _ in header)} |"
    for row in rows:
        yield f"| {' | '.join('' if cell is None else str(cell).replace('|', chr(92) + '|') for cell in row)} |"
    yield ""


def vocabulary_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every observation kind by subject: its id, its plain question, how it is said and when it can be seen."""
    yield "# What can be observed"
    yield f"\n{len(rulebook.kinds)} kinds. Kinds of `context`, `own` and `opponent` are keys of those objects in a"
    yield "request; all others are posted as observations. The same list is `GET /v1/vocabulary`."
    for subject, kinds in groupby(rulebook.kinds.values(), key=lambda kind: kind.subject):
        yield f"\n## {subject}"
        yield from table(
            ("id", "question", "said as", "seen", "take care"),
            ((f"`{k.id}`", k.asks, said_as(k), ", ".join(k.phases), k.trap) for k in kinds),
        )


def said_as(kind: ObservationKind) -> str:
    """Return the ways of a kind with its words or unit, and what must stand beside it."""
    words = f" ({', '.join(kind.options)})" if kind.options else ""
    unit = f" in {kind.unit}, {kind.low:g} to {kind.high:g}" if kind.unit and None not in (kind.low, kind.high) else ""
    beside = ", ".join(f"{name} {rule}" for name, rule in kind.qualifiers.items())
    return " or ".join(kind.ways) + words + unit + (f"; {beside}" if beside else "")


def traits_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every trait with its regions, then every quality with its spread and what carries over."""
    yield "# Traits and qualities"
    yield f"\n{len(rulebook.traits)} things that may be true of an opponent, each a region of the profile:"
    yield "`lowest 0.30` is true of the lowest 30 in 100 players of a level. Regions are model defaults. The same list"
    yield "is `GET /v1/traits`. What moves a belief is described in [How a belief moves](../belief.md)."
    yield from table(
        ("id", "trait", "true of", "not from"),
        (
            (f"`{t.id}`{wing_words(t)}", f"{t.title}: {t.means}", where_true(t), t.not_from)
            for t in rulebook.traits.values()
        ),
    )
    yield "\n## Qualities"
    yield f"\n{len(rulebook.qualities)} qualities make up a profile, in log-odds against the usual player of the level."
    yield "The spread is the standard deviation between club players; carry-over is the share of the variance that"
    yield "comes again in another match. What a kind of observation measures is in `GET /v1/vocabulary`."
    yield from table(
        ("id", "quality", "spread", "carry-over"),
        (
            (
                f"`{q.id}`",
                q.title.format(wing="forehand or backhand"),
                f"{q.spread[USUAL_LEVEL]:g}",
                f"{q.carry_over:g}",
            )
            for q in rulebook.qualities.values()
        ),
    )


def wing_words(trait: Trait) -> str:
    """Return whether the trait is one belief, one a wing, or of one wing."""
    return {WingRule.NONE: "", WingRule.EACH: ", one belief a wing"}.get(trait.wing, f", of the {trait.wing.value}")


def where_true(trait: Trait) -> str:
    """Return the regions of the profile in which a trait is true, or the share that a favourite serve spot takes."""
    if trait.favourite is not None:
        return f"one spot takes {trait.favourite:.0%} of the serves to a court"
    return " and ".join(map(region_words, trait.regions))


def region_words(region: Region) -> str:
    """Return one region: its loaded qualities, and which players of a level lie in it."""
    loads = ", ".join(f"{name} {load:+g}" for name, load in region.of.items())
    if region.outer:
        return f"outside {region.low:g} to {region.high:g} of ({loads})"
    if region.low == 0:
        return f"lowest {region.high:g} of ({loads})"
    return (
        f"highest {round(1 - region.low, 3):g} of ({loads})"
        if region.high == 1
        else f"{region.low:g} to {region.high:g} of ({loads})"
    )


def tactics_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every tactic by category: what it says, why, when not, when to look again, its worth and who says so."""
    yield "# Tactics"
    yield f"\n{len(rulebook.tactics)} tactics. When a tactic speaks stands in its rule file and in"
    yield "`GET /v1/tactics/{id}`. Gains are per point that it touches, and model defaults."
    for category, tactics in groupby(rulebook.tactics.values(), key=lambda tactic: tactic.category):
        yield f"\n## {rulebook.categories[category].title}"
        for tactic in tactics:
            yield from tactic_lines(tactic, rulebook)


def tactic_lines(tactic: Tactic, rulebook: Rulebook) -> Iterable[str]:
    """Yield one tactic as a paragraph and a list."""
    effect = tactic.effect
    yield f"\n### {tactic.title}\n"
    yield f"`{tactic.id}`: {tactic.say}\n"
    yield f"- Why: {tactic.why}"
    yield f"- Not if: {tactic.not_if}"
    yield f"- When to look again: {tactic.stop_when}"
    if tactic.caution:
        yield f"- Caution: {tactic.caution}"
    worth = f"{effect.gain:+.3f} where it fits, {-effect.loss:+.3f} where not"
    yield f"- Touches {effect.share:.0%} of {touched(effect.applies_to)}: {worth}"
    cited = "; ".join(
        f"{rulebook.sources[ref.key].citation} ({rulebook.sources[ref.key].status})" for ref in tactic.sources
    )
    yield f"- Source: {cited or 'common practice'}"


def touched(on: str) -> str:
    """Return which points an effect is of."""
    return "all points" if on == "both" else f"{on} points"


def sources_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every source, what it backs, and how its content is known."""
    yield "# Sources"
    yield "\nA citation backs a fact, never a threshold or an effect of ours. The status says how its content is known."
    yield from table(
        ("key", "citation", "backs", "status"),
        ((f"`{s.key}`", s.citation, s.backs, s.status) for s in rulebook.sources.values()),
    )


def api_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every operation of the contract."""
    contract = yaml.safe_load((ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8"))
    yield "# The API"
    yield "\nThe contract with every field is `openapi/openapi.yaml`; a running service shows it at `/docs`."
    yield "Errors are described in [Problems and faults](../problems.md)."
    yield from table(
        ("operation", "what it does", "answers"),
        (
            (f"`{method.upper()} {path}`", operation["summary"], ", ".join(sorted(map(str, operation["responses"]))))
            for path, operations in contract["paths"].items()
            for method, operation in operations.items()
            if method in METHODS
        ),
    )


def settings_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every setting: its variable, what it means, and what holds where it is absent."""
    yield "# Settings"
    yield "\nAll settings are environment variables. `tacticapi settings` shows what holds on a machine, and why."
    yield from table(
        ("variable", "meaning", "where it is absent"),
        ((f"`{s.name}`", s.meaning, f"`{s.default}`" if s.default else "") for s in SETTINGS),
    )
