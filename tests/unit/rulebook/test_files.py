"""A rule file is read as plain values, each with its line; all that YAML can hide is refused."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.rulebook.files import MAX_BYTES, RuleFileError, parse_document, read_document

HERE = Path("serve.yaml")


def refused(text):
    with pytest.raises(RuleFileError) as caught:
        parse_document(HERE, text)
    return [(mistake.line, mistake.field, mistake.expected) for mistake in caught.value.mistakes]


def test_each_field_knows_its_line():
    document = parse_document(HERE, "a:\n  - x\n  - b: 1\n\n    c: >\n      folded\n")
    assert document.content == {"a": ["x", {"b": 1, "c": "folded\n"}]}
    assert document.lines[("a",)] == 1
    assert document.lines["a", 0] == 2
    assert document.lines["a", 1, "c"] == 5
    assert document.mistake(("a", 1, "d/e"), "nothing", "it").field == "/a/1/d~1e"
    assert document.mistake(("a", 1, "d/e"), "nothing", "it").line == 3


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("null", None), ("~", None), ("true", True), ("False", False), ("-19", -19), ("007", 7), ("0.", 0.0),
        (".5", 0.5), ("-2E+05", -200_000.0), ('"12"', "12"), ("on", "on"), ("no", "no"), ("0:40", "0:40"),
        ("2026-01-01", "2026-01-01"), ("1_000", "1_000"),
    ],
)  # fmt: skip
def test_scalars_are_those_of_the_core_schema_of_yaml_1_2_2_section_10_3(text, value):
    found = parse_document(HERE, text).content
    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize(
    ("text", "line", "field", "expected"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, "/a", "each key once"),
        ("a: &x 1\n", 1, "/a", "the value written out"),
        ("a: &x [1]\nb: *x\n", 2, "/b", "the value written out"),
        ("a: 1\nb: !!python/name:os.system x\n", 2, "/b", "a value without a tag"),
        ("a: !!str 1\n", 1, "/a", "a value without a tag"),
        ("a: 1\n---\nb: 2\n", 2, "", "one document"),
        ("? [x]\n: 1\n", 1, "", "a word as the key"),
        ("a: 1e999\n", 1, "/a", "a finite number"),
        ('a: 1\nb: "x\\0y"\n', 2, "/b", "plain text"),
        ('a: 1\nb: "x\\e[2J"\n', 2, "/b", "plain text"),
        ('a: "\\u202Egnorts"\n', 1, "/a", "plain text"),
        ('a: 1\n"b\\0": 2\n', 2, "", "plain text"),
        ("a: [1\n", 2, "", "YAML"),
        ("[" * 40 + "]" * 40, 1, "", "YAML"),
        ("[" * 5000, 1, "", "YAML"),
    ],
)
def test_what_yaml_can_hide_is_refused(text, line, field, expected):
    assert (line, field, expected) in refused(text)


def test_all_mistakes_of_a_file_are_told_at_once():
    assert len(refused("a: &x 1\na: 2\nb: !!int 3\n")) == 3
    assert len(refused("a: &a [x]\nb: &b [*a, *a]\nc: [*b, *b]\n")) == 6


def test_a_file_that_is_too_large_or_not_text_or_not_there_is_refused(tmp_path):
    large, other = tmp_path / "large.yaml", tmp_path / "other.yaml"
    large.write_text("#" * (MAX_BYTES + 1))
    other.write_bytes(b"a: \xff\n")
    for path, expected in ((large, "at most 1,000,000 bytes"), (other, "text in UTF-8"), (tmp_path, "a readable file")):
        with pytest.raises(RuleFileError, match=expected):
            read_document(path)


@given(st.text(max_size=200) | st.text(alphabet="ab:-[]{}&*!|>?#'\"\n 01.", max_size=200))
def test_any_text_is_read_or_refused_with_its_mistakes(text):
    try:
        told = [parse_document(HERE, text).mistake((), "this", "that")]
    except RuleFileError as error:
        told = error.mistakes
    assert told
    assert all(mistake.line >= 1 and mistake.expected for mistake in told)
