"""Cases are beside the rules that they try out; what they change is a merge patch."""

import json

import pytest

from tacticapi.rulebook.files import RuleFileError

from ...cases import Case, cases, merge_patch

GOOD = """\
category: serve
cases:
  - tactic: kick-it-high
    suggested: {moment: change-of-ends, own: {kick_serve: 3}}
    near_miss: {own: {kick_serve: 1}}
    near_miss_why: own-ability
    not_suggested: {moment: change-of-ends}
  - tactic: serve-to-the-body
    suggested: {moment: set-break}
"""


def put(rules, text):
    (rules / "tactics" / "serve.cases.yaml").write_text(text)


def test_cases_are_read_in_file_order(rules):
    put(rules, GOOD)
    assert cases([rules]) == [
        Case(
            "kick-it-high",
            {"moment": "change-of-ends", "own": {"kick_serve": 3}},
            {"own": {"kick_serve": 1}},
            "own-ability",
            {"moment": "change-of-ends"},
        ),
        Case("serve-to-the-body", {"moment": "set-break"}),
    ]


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("    near_miss_why: own-ability\n", "", "3: /cases/0/near_miss_why"),
        ("near_miss_why: own-ability", "near_miss_why: bad luck", "6: /cases/0/near_miss_why: expected one of"),
        ("suggested: {moment: set-break}", "suggested: {moment: night}", "9: /cases/1/suggested/moment: expected"),
        ("category: serve", "category: return", "1: /category: expected the file's own category: serve"),
        ("tactic: kick-it-high", "tactic: kick-it-high\n    tactic: x", "4: /cases/0/tactic: expected each key once"),
    ],
)  # fmt: skip
def test_a_mistake_in_cases_is_told(rules, old, new, expected):
    put(rules, GOOD.replace(old, new, 1))
    with pytest.raises(RuleFileError) as caught:
        cases([rules])
    assert expected in str(caught.value)


def test_a_patch_merges_removes_replaces_and_changes_neither_side():
    """RFC 7396, appendix A, the example of each rule."""
    target = {"a": {"b": "c"}, "d": ["e"], "f": 1}
    patch = {"a": {"b": "g", "h": None}, "d": [1], "f": None, "i": {"j": {"k": None}}}
    copies = [json.dumps(one) for one in (target, patch)]
    assert merge_patch(target, patch) == {"a": {"b": "g"}, "d": [1], "i": {"j": {}}}
    assert merge_patch(["a"], {"b": "c"}) == {"b": "c"}
    assert [json.dumps(one) for one in (target, patch)] == copies
