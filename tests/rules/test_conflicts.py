"""Where two tactics disagree, the data say which one speaks, and the other one is named with the reason."""

from pathlib import Path

import pytest
import yaml

from tacticapi.domain.rules import RelationKind

WINS = {
    ("work-weaker-wing", "cross-court-home"),
    ("open-weak-side-through-strong-side", "work-weaker-wing"),
    ("serve-to-hidden-wing", "keep-serve-mix-unguessable"),
    ("trusted-serve-spot-on-biggest-points", "keep-serve-mix-unguessable"),
    ("trusted-serve-spot-on-biggest-points", "serve-away-from-lean"),
    ("trusted-serve-spot-on-biggest-points", "second-serve-deep-and-varied-under-attack"),
    ("serve-away-from-lean", "serve-to-hidden-wing"),
    ("hold-plan-through-one-good-ball", "change-losing-game-keep-winning-game"),
    ("cover-cross-smash-leave-line", "smash-defence-position"),
    ("change-direction-from-balance", "cross-court-home"),
    ("line-return-against-follow-in", "cross-court-return-default"),
    ("pass-approach-that-came-cross-court", "pass-by-percentage-and-cover"),
    ("safety-overrides-tactics", "rally-length-by-legs"),
    ("wind-behind-you", "depth-before-angle"),
    ("wind-behind-you", "drop-shot-against-deep-position"),
    ("cross-wind-big-targets", "take-line-early-against-cross-court-specialist"),
    ("fast-low-bounce-first-strike", "high-ball-to-high-ball-weakness"),
    ("slow-high-bounce-patience", "serve-and-volley-change"),
    ("uneven-or-slippery-court", "hit-behind-runner"),
    ("heat-precautions", "win-with-consistency"),
    ("heat-precautions", "rally-length-by-legs"),
    ("heat-precautions", "slow-high-bounce-patience"),
    ("heat-precautions", "test-suspected-fade"),
    ("no-deliberate-distraction", "show-position-then-change-it"),
}
"""(winner, loser): a relation or a higher authority decides, whatever the values."""

BY_VALUE = {
    ("high-ball-to-high-ball-weakness", "low-slice-to-low-ball-weakness"),
    ("pace-against-slow-preparation", "take-pace-off-a-counterpuncher"),
    ("pace-against-slow-preparation", "vary-against-rhythm-player"),
    ("wide-serve-open-court", "serve-and-volley-change"),
    ("pass-by-percentage-and-cover", "lob-early-and-often-enough"),
    ("attack-second-serve", "make-a-nervous-second-server-serve"),
    ("serve-to-hidden-wing", "serve-and-rally-to-weaker-forehand"),
    ("play-to-a-slice-only-backhand", "low-slice-to-low-ball-weakness"),
    ("attack-second-serve", "make-server-play-under-pressure"),
}
"""Both rest on evidence of one rank: the one that is worth more in this match is shown."""

OWN_ERRORS_OR_THEIR_PLAY = ("losing-by-own-errors", "losing-to-better-play")

EXCLUSIVE = {
    ("kick-second-serve-to-high-ball-weakness", "relearn-spin-directions"): (
        "same-handed",
        "right-hander-against-left-hander",
    ),
    ("raise-ball-making-when-behind", "when-outclassed-change-match"): OWN_ERRORS_OR_THEIR_PLAY,
    ("raise-ball-making-when-behind", "take-risks-in-chosen-places-when-behind"): OWN_ERRORS_OR_THEIR_PLAY,
}
"""Every alternative of each asks for one of two circumstances that cannot hold together."""

SILENCED_BY = {
    ("keep-a-winning-game", "change-losing-game-keep-winning-game"): "winning-points",
    ("keep-a-winning-game", "counter-their-adaptation"): "plan-winning",
    ("raise-ball-making-when-behind", "do-not-count-on-momentum"): "losing-by-own-errors",
    ("slow-down-legally-when-points-run-away", "keep-pace-when-ahead-in-flow"): "points-lost-in-row",
    ("keep-pace-when-ahead-in-flow", "slow-down-legally-when-points-run-away"): "points-won-in-row",
    ("cross-wind-big-targets", "take-line-early-against-cross-court-specialist"): "wind-across",
    ("wind-behind-you", "drop-shot-against-deep-position"): "wind-with",
    ("high-ball-to-high-ball-weakness", "low-slice-to-low-ball-weakness"): "high-bounce",
    ("fast-low-bounce-first-strike", "high-ball-to-high-ball-weakness"): "low-bounce",
    ("slow-high-bounce-patience", "serve-and-volley-change"): "slow-high-bounce",
}
"""(the tactic that stays, the other one): what speaks for the first is a counter-indication of the second."""

SAID_APART = {
    ("return-position-that-gets-ball-back", "attack-second-serve"): ("first serves", "second serve"),
    ("return-position-that-gets-ball-back", "surprise-return-to-strong-wing"): ("first serves", "second serve"),
    ("win-with-consistency", "build-to-short-ball"): ("extra ball", "short ball"),
    ("work-weaker-wing", "spread-the-pressure-on-weakness"): ("two neutral balls in three", "every fourth"),
    ("use-the-time-between-points", "slow-down-legally-when-points-run-away"): ("one aim", "ready in time"),
}
"""No disagreement: each line says for which ball it is."""

MATCHES = yaml.safe_load(Path(__file__).with_name("conflicts.yaml").read_text(encoding="utf-8"))


def ties(one, other):
    """How two tactics are tied, in either direction, seen from the first."""
    mirrored = {RelationKind.OVERRIDES: RelationKind.YIELDS_TO, RelationKind.YIELDS_TO: RelationKind.OVERRIDES}
    mine = {relation.kind for relation in one.relations if relation.to == other.id}
    theirs = {mirrored.get(relation.kind, relation.kind) for relation in other.relations if relation.to == one.id}
    return mine | theirs


def circumstances_for(tactic):
    return [{condition.name for condition in alternative.conditions} for alternative in tactic.when]


@pytest.mark.parametrize(("winner", "loser"), sorted(WINS))
def test_one_of_a_pair_always_wins(rulebook, winner, loser):
    first, second = rulebook.tactics[winner], rulebook.tactics[loser]
    tied = ties(first, second)
    assert RelationKind.YIELDS_TO not in tied
    assert RelationKind.OVERRIDES in tied or (RelationKind.CONFLICTS in tied and first.authority < second.authority)


@pytest.mark.parametrize(("one", "other"), sorted(BY_VALUE))
def test_a_pair_of_one_rank_is_settled_by_value(rulebook, one, other):
    assert ties(rulebook.tactics[one], rulebook.tactics[other]) == {RelationKind.CONFLICTS}


@pytest.mark.parametrize(("pair", "circumstances"), sorted(EXCLUSIVE.items()))
def test_a_pair_never_matches_together(rulebook, pair, circumstances):
    for name, circumstance in zip(pair, circumstances, strict=True):
        assert all(circumstance in asked for asked in circumstances_for(rulebook.tactics[name]))


@pytest.mark.parametrize(("pair", "circumstance"), sorted(SILENCED_BY.items()))
def test_what_speaks_for_one_holds_the_other_back(rulebook, pair, circumstance):
    assert any({c.name for c in u.conditions} == {circumstance} for u in rulebook.tactics[pair[1]].unless)


@pytest.mark.parametrize(("pair", "words"), sorted(SAID_APART.items()))
def test_two_lines_name_different_balls(rulebook, pair, words):
    for name, said in zip(pair, words, strict=True):
        assert said in rulebook.tactics[name].say


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
