"""The reference pages, made from the rulebook, the contract and the settings while the site is built.

Not here: pages that somebody writes. Next: mkdocs.yml, which names this module as a hook.
"""

from collections.abc import Callable, Iterable, Mapping
from itertools import groupby
from pathlib import Path
from typing import Any

import yaml
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from tacticapi.domain.rules import ObservationKind, Rulebook, Tactic, TermForm, Trait, WingRule
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
    """Yield every trait: what it means, its prior, and what moves it by how much."""
    yield "# Traits"
    yield f"\n{len(rulebook.traits)} things that may be true of an opponent. Priors, shares and tables are model"
    yield "defaults. How they move a belief stands in [How a belief moves](../belief.md)."
    yield "The same list is `GET /v1/traits`."
    for trait in rulebook.traits.values():
        yield f"\n## {trait.title}\n"
        yield f"`{trait.id}`{wing_words(trait)}, prior {trait.prior:g}. {trait.means}"
        if trait.not_from:
            yield f"\nNot from: {trait.not_from}"
        yield from table(
            ("observation", "strength", "holds", "does not"),
            (
                (f"`{t.what}`{' (' + t.wing + ' wing)' if t.wing else ''}", t.word, *holds_and_fails(t))
                for t in trait.terms
            ),
        )


def wing_words(trait: Trait) -> str:
    """Return whether the trait is one belief, one a wing, or of one wing."""
    return {WingRule.NONE: "", WingRule.EACH: ", one belief a wing"}.get(trait.wing, f", of the {trait.wing.value}")


def holds_and_fails(term: Any) -> tuple[str, str]:
    """Return what a term expects where the trait holds, and where it does not."""
    if term.form is TermForm.TABLE:
        pairs = term.table.items()
        return tuple(", ".join(f"{level} {pair[side]:.2f}" for level, pair in pairs) for side in (0, 1))  # type: ignore[return-value]
    if term.form is TermForm.FAVOURITE:
        return f"favourite {term.p_if_true:.2f}", ", ".join(f"{share:.2f}" for share in term.base)
    return f"{term.p_if_true:.2f}", f"{term.p_if_false:.2f}"


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
