"""The contract ▶ a page to read, whole in itself: one style, no script, nothing from outside."""

from base64 import b64encode
from functools import lru_cache
from hashlib import sha256
from typing import Any

from jinja2 import Environment, PackageLoader, Template
from markdown_it import MarkdownIt
from markupsafe import Markup

from tacticapi.api.contract.contract import METHODS

STYLE = """
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 60rem; margin: 0 auto; padding: 1rem; }
code { font-family: ui-monospace, monospace; font-size: .9em; }
h2 { border-bottom: 1px solid; margin-top: 2.5rem; }
details { border: 1px solid; border-radius: .4rem; margin: .6rem 0; padding: .5rem .8rem; overflow-wrap: anywhere; }
summary { cursor: pointer; }
.method { font-weight: 700; display: inline-block; min-width: 4.5rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .2rem .8rem .2rem 0; }
td p { margin: 0; }
"""
_HASH = b64encode(sha256(STYLE.encode()).digest()).decode()
POLICY = "; ".join(
    (
        "default-src 'none'",
        f"style-src 'sha256-{_HASH}'",
        "img-src data:",  # the empty icon, without which browsers ask for one
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
_IN_CONTRACT = "#/components/"
Shape = dict[str, Any]


def reference_page(contract: dict[str, Any]) -> str:
    """The page of an OpenAPI document. Every text of it is escaped."""
    return _template().render(
        info=contract["info"],
        groups=[(tag, _operations(contract, tag["name"])) for tag in contract["tags"]],
        schemas=sorted(contract["components"]["schemas"].items()),
        style=Markup(STYLE),  # ours, and named by its hash in POLICY  # nosec B704
        kind=kind,
        rows=rows,
        name_of=name_of,
        resolved=lambda part: resolved(contract, part),
    )


def _operations(contract: dict[str, Any], tag: str) -> list[tuple[str, str, Any]]:
    return [
        (method.upper(), address, operation)
        for address, path in contract["paths"].items()
        for method, operation in path.items()
        if method in METHODS and tag in operation["tags"]
    ]


def resolved(contract: dict[str, Any], part: Any) -> Any:
    """A parameter or response, looked up where it is named by reference."""
    while "$ref" in part:
        group, _, name = part["$ref"].removeprefix(_IN_CONTRACT).partition("/")
        part = contract["components"][group][name]
    return part


def name_of(reference: str) -> str:
    """The name of the schema that a reference leads to."""
    return reference.rpartition("/")[2]


def kind(shape: Any) -> list[tuple[str, str | None]]:
    """What a value is, in words, each with the schema that it leads to where there is one."""
    if "$ref" in shape:
        return [(name_of(shape["$ref"]), name_of(shape["$ref"]))]
    for name in ("anyOf", "oneOf", "allOf"):
        if name in shape:
            return [word for one in shape[name] for word in kind(one)]
    if "enum" in shape:
        return [(" · ".join("null" if word is None else str(word) for word in shape["enum"]), None)]
    types = shape.get("type", "any")
    words = " or ".join([types] if isinstance(types, str) else types)
    if "items" in shape:
        return [(f"{words} of", None), *kind(shape["items"])]
    return [(f"{words}{_bounds(shape)}", None)]


def _bounds(shape: Shape) -> str:
    told = [f"{word} {shape[name]:,}" for name, word in _BOUNDS.items() if isinstance(shape.get(name), (int, float))]
    return f" ({', '.join(told)})" if told else ""


_BOUNDS = {"minimum": "from", "maximum": "to", "minLength": "letters from", "maxLength": "letters up to"}


def rows(schema: Shape) -> list[tuple[str, bool, Shape]]:
    """The fields of an object: name, whether it must be there, shape."""
    required = schema.get("required", ())
    return [(name, name in required, shape) for name, shape in schema.get("properties", {}).items()]


@lru_cache(maxsize=1)
def _template() -> Template:
    loader = PackageLoader("tacticapi.api.reference")
    made = Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True)
    markdown = MarkdownIt("commonmark", {"html": False})  # what a description is; HTML in it is escaped
    made.filters["blocks"] = lambda text: Markup(markdown.render(text))  # nosec B704
    made.filters["line"] = lambda text: Markup(markdown.renderInline(text))  # nosec B704
    return made.get_template("reference.html")
