"""The shape of traits."""

from typing import Any

from tacticapi.api.paging import page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_chance, a_list, a_text, a_word
from tacticapi.domain.trait import Term, TermForm, Trait, WingRule


class EvidenceSchema(Shape):
    """One kind of observation that speaks for or against a trait."""

    what = a_text("Id of the vocabulary.")
    form = a_word(TermForm, "How it is read: shares of a count, a table of levels, a favourite, or one end's share.")
    word = a_text("How much it can move: slight, weak, moderate or strong.")
    wing = a_text("Whose wing must stand on the observation: same, other, forehand or backhand; null: any.", null=True)
    serve = a_text("Only on this serve.", null=True)
    court = a_text("Only in this court.", null=True)
    moves = a_text("The one wing whose belief it moves; null: that of the trait.", null=True)


class TraitSchema(Shape):
    """One thing that may be true of an opponent."""

    id = a_text("Id; never used again for anything else.")
    title = a_text("Title.")
    means = a_text("What it means.")
    wing = a_word(WingRule, "Whether it is one belief or one for each wing.")
    prior = a_chance("How likely it is before anything is seen; a model default.")
    excludes = a_text("The group of traits of which at most one can hold.", null=True)
    not_from = a_text("What it must not be inferred from.", null=True)
    evidence = a_list(EvidenceSchema, "What speaks for or against it.")


TraitPage = page_schema(TraitSchema)


def trait_body(trait: Trait) -> dict[str, Any]:
    """One trait as it is served."""
    return {
        "id": trait.id,
        "title": trait.title,
        "means": trait.means,
        "wing": trait.wing.value,
        "prior": trait.prior,
        "excludes": trait.excludes,
        "not_from": trait.not_from,
        "evidence": [_evidence(term) for term in trait.terms],
    }


def _evidence(term: Term) -> dict[str, Any]:
    names = ("what", "form", "word", "wing", "serve", "court", "moves")
    return {name: getattr(term, name) for name in names}
