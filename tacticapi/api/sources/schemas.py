"""The shape of sources."""

from typing import Any

from tacticapi.api.paging import page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_text
from tacticapi.domain.rulebook import Source


class SourceSchema(Shape):
    """A publication that tactics cite."""

    key = a_text("Key; tactics cite it.")
    citation = a_text("The publication.")
    backs = a_text("What it backs.")
    status = a_text("How its content is known.")


SourcePage = page_schema(SourceSchema)


def source_entry(source: Source) -> dict[str, Any]:
    """One source as it is served."""
    return {"key": source.key, "citation": source.citation, "backs": source.backs, "status": source.status}
