"""The shapes of what tells about the service."""

from marshmallow import fields

from tacticapi.api.shapes import Shape


def _says(text: str) -> fields.String:
    return fields.String(required=True, metadata={"description": text})


class ProblemKindSchema(Shape):
    """A type of problem."""

    type = _says("URI reference that stands for it in problem documents.")
    status = fields.Integer(required=True, metadata={"description": "The HTTP status that it comes with."})
    title = _says("What is wrong.")
    mend = _says("What the client does about it.")


class ProblemKindsSchema(Shape):
    """All types of problem that this service tells of."""

    items = fields.List(fields.Nested(ProblemKindSchema), required=True)
