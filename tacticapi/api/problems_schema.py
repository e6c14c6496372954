"""The shape of a problem document, for the contract."""

from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.problems import PROBLEMS
from tacticapi.api.shapes import Shape


class FaultSchema(Shape):
    """One fault: where, what stood there, and what was expected."""

    pointer = fields.String(metadata={"description": "JSON pointer into the body (RFC 6901)."})
    parameter = fields.String(metadata={"description": "Name of a query parameter, in place of a pointer."})
    value = fields.Raw(
        required=True, allow_none=True, metadata={"description": "What stood there, shortened; null: nothing."}
    )
    expected = fields.String(required=True, metadata={"description": "What would have been right."})


class ProblemSchema(Shape):
    """A problem document (RFC 9457), sent as application/problem+json."""

    type = fields.String(
        required=True,
        validate=OneOf([problem.type for problem in PROBLEMS]),
        metadata={"description": "URI reference of the type of problem."},
    )
    title = fields.String(required=True, metadata={"description": "The type of problem in words."})
    status = fields.Integer(required=True, metadata={"description": "The HTTP status."})
    detail = fields.String(metadata={"description": "This problem in words."})
    errors = fields.List(fields.Nested(FaultSchema), metadata={"description": "Every fault that could be told."})
