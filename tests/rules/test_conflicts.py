"""Where two tactics disagree, the data say which one speaks, and the other one is named with the reason."""

from pathlib import Path

import pytest
import yaml

from tacticapi.domain.rules import RelationKind

WINS = {
    ("trusted-serve-spot-on-biggest-points", "keep-serve-mix-unguessable"),
    ("safety-overrides-tactics", "rally-length-by-legs"),
    ("wind-behind-you", "depth-before-angle"),
    ("wind-behind-you", "drop-shot-against-deep-position"),
    ("cross-wind-big-targets", "take-line-early-against-cross-court-specialist"),
    ("heat-precautions", "win-with-consistency"),
    ("heat-precautions", "rally-length-by-legs"),
    ("heat-precautions", "slow-high-bounce-patience"),
    ("heat-precautions", "test-suspected-fade"),
    ("no-deliberate-distraction", "show-position-then-change-it"),
}
"""(winner, loser): a relation or a higher authority decides, whatever the values. More are played in conflicts.yaml."""

OWN_ERRORS_OR_THEIR_PLAY = ("losing-by-own-errors", "losing-to-better-play")
SAME_HANDS_OR_NOT = ("same-handed", "right-hander-against-left-hander")
EXCLUSIVE = {
    ("kick-second-serve-to-high-ball-weakness", "relearn-spin-directions"): SAME_HANDS_OR_NOT,
    ("raise-ball-making-when-behind", "when-outclassed-change-match"): OWN_ERRORS_OR_THEIR_PLAY,
    ("raise-ball-making-when-behind", "take-risks-in-chosen-places-when-behind"): OWN_ERRORS_OR_THEIR_PLAY,
}
"""Every alternative of each asks for one of two circumstances that cannot hold together."""

MATCHES = yaml.safe_load(Path(__file__).with_name("conflicts.yaml").read_text(encoding="utf-8"))


def ties(one, other):
    """How two tactics are tied, in either direction, seen from the first."""
    mirrored = {RelationKind.OVERRIDES: RelationKind.YIELDS_TO, RelationKind.YIELDS_TO: RelationKind.OVERRIDES}
    mine = {relation.kind for relation in one.relations if relation.to == other.id}
    theirs = {mirrored.get(relation.kind, relation.kind) for relation in other.relations if relation.to == one.id}
    return mine | theirs


@pytest.mark.parametrize(("winner", "loser"), sorted(WINS))
def test_one_of_a_pair_always_wins(rulebook, winner, loser):
    first, second = rulebook.tactics[winner], rulebook.tactics[loser]
    tied = ties(first, second)
    assert RelationKind.YIELDS_TO not in tied
    assert RelationKind.OVERRIDES in tied or (RelationKind.CONFLICTS in tied and first.authority < second.authority)


@pytest.mark.parametrize(("pair", "circumstances"), sorted(EXCLUSIVE.items()))
def test_a_pair_never_matches_together(rulebook, pair, circumstances):
    for name, circumstance in zip(pair, circumstances, strict=True):
        assert all(circumstance in {one.name for one in way.conditions} for way in rulebook.tactics[name].when)


@pytest.mark.parametrize(
    ("winner", "loser", "body"),
    [tuple(match.values()) for match in MATCHES],
    ids=[f"{match['winner']}-over-{match['loser']}" for match in MATCHES],
)
def test_where_both_match_one_speaks_and_the_other_is_named(asker, winner, loser, body):
    answer = asker.ask({"moment": "set-break", **body})
    assert answer.fired(winner)
    assert answer.fired(loser)
    assert winner in answer.shown
    assert answer.verdict(loser) == "conflict"
    assert answer.held_because(loser)


def test_two_ways_of_covering_the_net_are_both_told(rulebook):
    assert rulebook.tactics["net-cover-line-then-middle"].coaches_differ
    assert "approach was cross-court" in rulebook.tactics["net-cover-line-then-middle"].not_if
