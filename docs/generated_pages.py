"""Generate the reference pages from the rulebook, the contract and the settings while the site is built.

mkdocs.yml names this module as a hook.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from itertools import groupby
from pathlib import Path

import yaml
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files

from tacticapi.advice.explain import price_lines
from tacticapi.domain.rules import Level, ObservationKind, Region, Rulebook, Tactic, Trait, WingRule
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook.load import load
from tacticapi.settings import SETTINGS

ROOT = Path(__file__).parents[1]
GUIDE = ROOT / "tacticapi" / "web" / "guide"
GUIDE_PICTURES = ROOT / "tacticapi" / "web" / "static" / "guide"
_LINK = re.compile(r"(?<!!)\[([^\]]+)\]\((?:/|\.\.)[^)]*\)")
METHODS = ("get", "post", "patch", "put", "delete")


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add every generated page to the site."""
    rulebook = load()
    pages: Mapping[str, Callable[[Rulebook], Iterable[str]]] = {
        "vocabulary": vocabulary_page,
        "traits": traits_page,
        "tactics": tactics_page,
        "balls": balls_page,
        "sources": sources_page,
        "api": api_page,
        "settings": settings_page,
    }
    for name, lines in pages.items():
        files.append(File.generated(config, f"reference/{name}.md", content="\n".join(lines(rulebook))))
    for guide in sorted(GUIDE.glob("*.md")):
        files.append(File.generated(config, guide.name, content=guide_page(guide.read_text(encoding="utf-8"))))
    for picture in sorted(GUIDE_PICTURES.glob("*.png")):
        files.append(File.generated(config, f"guide/{picture.name}", abs_src_path=str(picture)))
    return files


def guide_page(text: str) -> str:
    """Return one of the service's guides for the site, without links to addresses on the service."""
    return _LINK.sub(r"\1", text.replace("](../static/guide/", "](guide/"))


def table(header: Iterable[str], rows: Iterable[Iterable[object]]) -> Iterable[str]:
    """Yield the lines of a Markdown table; a bar in a cell is escaped, and None is an empty cell."""
    header = list(header)
    yield ""
    yield f"| {' | '.join(header)} |"
    yield f"| {' | '.join('---' for _ in header)} |"
    for row in rows:
        yield f"| {' | '.join('' if cell is None else str(cell).replace('|', chr(92) + '|') for cell in row)} |"
    yield ""


def vocabulary_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every observation kind by subject: its id, its plain question, how to post it and when it can be seen."""
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
    """Return the forms in which a kind may be posted, with its words or unit, and its required qualifiers."""
    words = f" ({', '.join(kind.options)})" if kind.options else ""
    unit = f" in {kind.unit}, {kind.low:g} to {kind.high:g}" if kind.unit and None not in (kind.low, kind.high) else ""
    beside = ", ".join(f"{name} {rule}" for name, rule in kind.qualifiers.items())
    return " or ".join(kind.ways) + words + unit + (f"; {beside}" if beside else "")


def traits_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield what players differ in, then every trait: what it means, its prior, and where in the profile it is true."""
    yield "# Traits"
    yield f"\n{len(rulebook.traits)} things that may be true of an opponent, each a word for a region of the profile."
    yield "[From a count to a belief](../belief.md) says what that means. The same list is `GET /v1/traits`."
    priors = EvidenceModel(rulebook).priors()
    for trait in rulebook.traits.values():
        prior = priors[trait.id, trait.wings[0]]
        yield f"\n## {trait.title}\n"
        yield f"`{trait.id}`{wing_words(trait)}, prior {prior:.2f}. {trait.means}"
        if trait.not_from:
            yield f"\nNot from: {trait.not_from}"
        for region in trait.regions:
            parts = ", ".join(f"`{name}` {load:g}" for name, load in region.of.items())
            yield f"\nTrue of {region_words(region)} in {parts}."
        if trait.favourite is not None:
            yield f"\nTrue if one spot takes at least {trait.favourite:.0%} of the serves to a court."
        if trait.regions:
            yield f"\nShown best by: {', '.join(shown_by(trait, rulebook)) or 'a sum of other observations'}"
    yield "\n## What players differ in\n"
    yield "Spreads are standard deviations between players in log-odds; the last column is the share of the variance"
    yield "that comes again in another match."
    yield from table(
        ("quality", "what it is", *(f"spread, {level}" for level in Level), "comes again"),
        (
            (f"`{q.id}`", q.title, *(f"{q.spread[level]:.2f}" for level in Level), f"{q.carry_over:.2f}")
            for q in rulebook.qualities.values()
        ),
    )


def region_words(region: Region) -> str:
    """Describe which players of a level are in the region, such as "the lowest 35 in 100"."""
    low, high = round(100 * region.low), round(100 * region.high)
    if region.outer:
        return f"the lowest {low} and the highest {100 - high} in 100"
    if low == 0:
        return f"the lowest {high} in 100"
    return f"the highest {100 - low} in 100" if high == 100 else f"those between {low} and {high} in 100"


def shown_by(trait: Trait, rulebook: Rulebook) -> list[str]:
    """Return the kinds that show best the quality with the largest weight in one of the trait's regions."""
    heaviest = {max(r.of, key=lambda name: abs(r.of[name])).partition("/")[0] for r in trait.regions}
    best = ((kind, list(measure.loads)[-1]) for kind in rulebook.kinds.values() for measure in kind.measures)
    return list(dict.fromkeys(f"`{kind.id}`" for kind, name in best if name.partition("/")[0] in heaviest))


def wing_words(trait: Trait) -> str:
    """Describe whether the trait is a single belief, one per wing, or about one fixed wing."""
    return {WingRule.NONE: "", WingRule.EACH: ", for each wing"}.get(trait.wing, f", of the {trait.wing.value}")


def tactics_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every tactic by category: what it says, why, when not to, when to look again, its price and its source."""
    yield "# Tactics"
    yield f"\n{len(rulebook.tactics)} tactics. When a tactic speaks stands in its rule file and in"
    yield "`GET /v1/tactics/{id}`. [What a price is](../prices.md) explains its terms; all of them are model defaults."
    for category, tactics in groupby(rulebook.tactics.values(), key=lambda tactic: tactic.category):
        yield f"\n## {rulebook.categories[category].title}"
        for tactic in tactics:
            yield from tactic_lines(tactic, rulebook)


def tactic_lines(tactic: Tactic, rulebook: Rulebook) -> Iterable[str]:
    """Yield one tactic as a paragraph and a list."""
    yield f"\n### {tactic.title}\n"
    yield f"`{tactic.id}`: {tactic.say}\n"
    yield f"- Why: {tactic.why}"
    yield f"- Not if: {tactic.not_if}"
    yield f"- When to look again: {tactic.stop_when}"
    if tactic.caution:
        yield f"- Caution: {tactic.caution}"
    terms = price_lines(tactic, rulebook)
    yield f"- Price: {'; '.join(terms)}" if terms else "- No price: it sends no ball."
    cited = "; ".join(
        f"{rulebook.sources[ref.key].citation} ({rulebook.sources[ref.key].status})" for ref in tactic.sources
    )
    yield f"- Source: {cited or 'common practice'}"


def balls_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every ball, what it finds, and every mix."""
    yield "# Balls"
    yield "\nWhat tactics send, and what that replaces ([what a price is](../prices.md)). A ball finds qualities of the"
    yield "opponent: the better they are at these, the less it is worth. All numbers are model defaults."
    yield from table(
        ("id", "what it is", "finds, or is made of"),
        (
            (f"`{b.id}`", b.title, ", ".join(f"`{name}` {part:g}" for name, part in (b.of or b.finds).items()))
            for b in rulebook.balls.values()
        ),
    )


def sources_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every source, what it backs, and how closely it was read."""
    yield "# Sources"
    yield "\nA citation backs a fact, never a threshold or a price of ours. The status says how closely we read it."
    yield from table(
        ("key", "citation", "backs", "status"),
        ((f"`{s.key}`", s.citation, s.backs, s.status) for s in rulebook.sources.values()),
    )


def api_page(rulebook: Rulebook) -> Iterable[str]:
    """Yield every operation in the contract."""
    contract = yaml.safe_load((ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8"))
    yield "# The API"
    yield "\nThe contract with every field is `openapi/openapi.yaml`; a running service shows it at `/docs`."
    yield "Errors are described in [Problems](../problems.md)."
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
    """Yield every setting: its variable, what it means, and its default."""
    yield "# Settings"
    yield "\nAll settings are environment variables. `tacticapi settings` shows what holds on a machine, and why."
    yield from table(
        ("variable", "meaning", "where it is absent"),
        ((f"`{s.name}`", s.meaning, f"`{s.default}`" if s.default else "") for s in SETTINGS),
    )
