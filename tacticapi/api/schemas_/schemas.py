"""The shape of the list of schemas."""

from tacticapi.api.schemas_.named import SORTS
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_list, a_text, a_word


class PublishedSchema(Shape):
    """A JSON Schema that is published."""

    name = a_text("Its name.")
    address = a_text("Where it is; also its $id.")
    component = a_text("The schema of the contract that it is cut out of.")
    sort = a_word(SORTS, "Whether it is the shape of what is posted or of what is answered.")


class PublishedSchemasSchema(Shape):
    """Every JSON Schema that is published."""

    items = a_list(PublishedSchema, "In the order in which they are met.")
