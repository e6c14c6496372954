"""Every kind of rule file has a JSON Schema of draft 2020-12, and each shape it refuses is reported in plain words."""

import json
from pathlib import Path

import pytest
from jsonschema_rs import meta

from tacticapi.rulebook.entries import shape_mistakes
from tacticapi.rulebook.files import our_rules, parse_document

SCHEMAS = sorted(path.stem for path in (our_rules() / "schemas").iterdir())
PARTS = ("common", "conditions")  # of the schemas of files


@pytest.mark.parametrize("kind", SCHEMAS)
def test_a_schema_is_one_of_draft_2020_12_and_named_after_its_file(kind):
    schema = json.loads((our_rules() / "schemas" / f"{kind}.json").read_text(encoding="utf-8"))
    meta.validate(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"] == f"urn:tacticapi:rules:{kind}"


@pytest.mark.parametrize("kind", [kind for kind in SCHEMAS if kind not in (*PARTS, "house")])
@pytest.mark.parametrize("text", ["", "[]", "text", "12"])
def test_a_file_that_is_no_mapping_is_refused(kind, text):
    (mistake,) = shape_mistakes(parse_document(Path("x.yaml"), text), kind)
    assert (mistake.line, mistake.field, mistake.expected) == (1, "", "a mapping")


def test_an_unknown_field_is_told_with_the_known_ones():
    document = parse_document(Path("x.yaml"), "sources: []\nsource: []\n")
    (mistake,) = shape_mistakes(document, "sources")
    assert str(mistake) == "x.yaml:2: /source: expected one of sources, found another field"


@pytest.mark.parametrize(
    ("before", "after", "field"),
    [
        ("window: 7", "window: 1", "/window"),
        ("for_the_match: true", "for_the_match: always", "/signs/0/for_the_match"),
        ("- anaphyla*|epipen", "- Anaphylaxis", "/signs/12/words/5"),
        ("hurts: pain*", "hurts: (pain", "/pain/hurts"),
    ],
)
def test_a_danger_sign_that_cannot_be_read_is_refused(before, after, field):
    """A word with a capital or a sign of its own would never fit a text."""
    text = (our_rules() / "danger-signs.yaml").read_text(encoding="utf-8")
    assert list(shape_mistakes(parse_document(Path("x.yaml"), text), "danger-signs")) == []
    assert before in text
    mistakes = shape_mistakes(parse_document(Path("x.yaml"), text.replace(before, after, 1)), "danger-signs")
    assert [mistake.field for mistake in mistakes] == [field]
