"""People can be hurt: what is risky carries a caution or a counter-indication, and danger ends tactics."""

import re
from collections.abc import Mapping
from typing import Any

import pytest

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import FactKind, Tactic

from .asking import Asker

NOT_SAFE_FOR: Mapping[str, Mapping[str, frozenset[str]]] = {
    "balls at a person or at close range": {
        "body-serve-to-cramp": frozenset({"under-18"}),
        "attack-feet-of-player-dragged-in": frozenset(),
    },
    "long or provoked running in heat": {
        "ball-making-weapon": frozenset({"hot"}),
        "rally-length-by-legs": frozenset({"hot", "warning-sign", "child-or-senior"}),
        "slow-high-bounce-patience": frozenset({"hot"}),
        "test-suspected-fade": frozenset({"hot", "warning-sign", "child-or-senior", "wet-or-damp"}),
    },
    "turns and sprints on a slippery court": {
        "hit-behind-runner": frozenset({"unsure-footing"}),
        "wrong-foot-a-strong-mover": frozenset({"unsure-footing"}),
        "drop-shot-against-deep-position": frozenset({"unsure-footing"}),
        "bring-a-retriever-off-the-baseline": frozenset({"unsure-footing"}),
        "short-angle-off-a-wide-ball": frozenset({"unsure-footing"}),
        "senior-adjustments": frozenset({"wet-or-damp"}),
    },
    "lobs on a damp court": {
        "lob-early-and-often-enough": frozenset({"wet-or-damp", "senior"}),
        "high-defensive-lob-when-stretched": frozenset({"wet-or-damp", "senior"}),
    },
    "lobs into the sun": {"sun-lob-and-toss": frozenset({"under-18"})},
    "kick serves of a growing back": {
        "kick-second-serve-to-high-ball-weakness": frozenset({"under-18"}),
    },
}
"""Each danger, with the tactics that touch it and the circumstances that must hold each of them back."""

LOADS: Mapping[str, frozenset[str]] = {
    "first-serve-as-weapon": frozenset({"arm", "trunk"}),
    "kick-second-serve-to-high-ball-weakness": frozenset({"arm", "trunk"}),
    "second-serve-deep-and-varied-under-attack": frozenset({"arm", "trunk"}),
    "pace-against-slow-preparation": frozenset({"arm", "trunk"}),
    "smash-safe-turn-and-cross": frozenset({"arm", "trunk"}),
    "high-ball-to-high-ball-weakness": frozenset({"arm"}),
    "come-in-behind-short-ball": frozenset({"legs"}),
    "serve-and-volley-change": frozenset({"legs"}),
    "stand-to-hit-forehands": frozenset({"legs"}),
    "ball-making-weapon": frozenset({"legs"}),
    "drop-shot-against-deep-position": frozenset({"legs"}),
    "first-serve-percentage-before-pace": frozenset(),
    "choose-which-balls-to-chase": frozenset(),
    "cross-court-home": frozenset(),
    "block-return-deep-middle": frozenset(),
}
"""What some tactics load more than ordinary play does, among them those that spare a sore part."""

RUNNING_WORDS = re.compile(
    r"\b(drop shots?|side to side|long runs?|corner they are leaving|behind them|pull them off|draw them in"
    r"|one more|extra ball)\b",
    re.IGNORECASE,
)
"""Words of a line that makes the opponent run or play on."""

MAKES_NOBODY_RUN = {"damp-heavy-balls": "names drop shots to leave them out"}

MUST_CAUTION = (
    "body-serve-to-cramp",
    "attack-feet-of-player-dragged-in",
    "bring-an-uncomfortable-player-forward",
    "drop-shot-against-deep-position",
    "bring-a-retriever-off-the-baseline",
    "hit-behind-runner",
    "wrong-foot-a-strong-mover",
    "lob-early-and-often-enough",
    "smash-safe-turn-and-cross",
    "rally-length-by-legs",
    "test-suspected-fade",
    "choose-which-balls-to-chase",
    "eat-and-drink-by-plan",
    "senior-adjustments",
    "junior-adjustments",
    "adults-around-juniors",
    "sun-lob-and-toss",
    "heat-precautions",
    "uneven-or-slippery-court",
    "lightning-leave-court",
    "pain-is-a-stop-sign",
    "safety-overrides-tactics",
    "damp-heavy-balls",
    "fast-low-bounce-first-strike",
    "show-position-then-change-it",
    "make-a-nervous-second-server-serve",
    "meet-stalling-with-routine-and-rule",
    "slow-down-legally-when-points-run-away",
    "let-player-who-rushes-rush",
)

RISKY_WORDS = re.compile(r"\b(body|at the feet|drop (shots?|the)|lobs?|smash\w*|behind them|kicks?)\b", re.IGNORECASE)

TACTICAL_WORDS = re.compile(
    r"\b(first serves?|aim\w*|targets?|margins?|points? early|cross-court|down the line|forehand|backhand|rally)\b",
    re.IGNORECASE,
)

HARMLESS = {
    "block-return-deep-middle": "a return at the feet of someone who runs in from the baseline",
    "make-serve-and-volleyer-volley-low": "a return at the feet of someone who runs in from the baseline",
    "first-ball-low-second-ball-past": "a dipping ball from the baseline",
    "guard-short-after-drop-shot": "about one's own place",
    "cover-cross-smash-leave-line": "about one's own place under a smash",
    "smash-defence-position": "about one's own place; held back where there is no room to run back",
    "play-to-a-slice-only-backhand": "expects a lob, asks for none",
    "guess-only-when-you-are-lost": "about one's own move",
    "wide-serve-open-court": "an ordinary pattern on a dry court",
    "short-side-serve-to-deep-returner": "one drop shot after the serve",
    "relearn-spin-directions": "which spin goes where",
    "wind-against-you": "how to hit a lob into the wind",
    "indoors-clean-rhythm": "fewer lobs",
    "high-defensive-lob-when-stretched": "held back on a damp court with anyone over 60",
    "kick-second-serve-to-high-ball-weakness": "held back under 18 and with a sore arm or trunk",
}
"""Tactics whose line names a risky stroke and that need no caution, with the reason."""


def circumstances_against(tactic: Tactic) -> set[str]:
    return {c.name for counter in tactic.unless for c in counter.conditions if c.kind is FactKind.CIRCUMSTANCE}


@pytest.mark.parametrize("danger", NOT_SAFE_FOR)
def test_what_a_danger_touches_is_held_back_by_it(rulebook: Rulebook, danger: str) -> None:
    for name, needed in NOT_SAFE_FOR[danger].items():
        tactic = rulebook.tactics[name]
        assert needed <= circumstances_against(tactic), name
        assert needed or tactic.caution, name


@pytest.mark.parametrize("name", LOADS)
def test_a_tactic_says_which_part_of_the_body_it_loads(rulebook: Rulebook, name: str) -> None:
    assert frozenset(rulebook.tactics[name].loads) == LOADS[name]


def test_whatever_makes_an_opponent_run_says_so(rulebook: Rulebook) -> None:
    running = {
        tactic.id
        for tactic in rulebook.tactics.values()
        for say in (tactic.say, *(alternative.say or "" for alternative in tactic.when))
        if RUNNING_WORDS.search(say) and not tactic.tires
    }
    assert running == MAKES_NOBODY_RUN.keys()


@pytest.mark.parametrize("name", MUST_CAUTION)
def test_what_can_go_wrong_carries_a_caution(rulebook: Rulebook, name: str) -> None:
    assert rulebook.tactics[name].caution


def test_every_line_that_names_a_risky_stroke_is_cautioned_or_explained(rulebook: Rulebook) -> None:
    risky = {
        tactic.id
        for tactic in rulebook.tactics.values()
        for say in (tactic.say, *(alternative.say or "" for alternative in tactic.when))
        if RISKY_WORDS.search(say) and not tactic.caution
    }
    assert risky == HARMLESS.keys()


def test_a_safety_line_holds_no_tactics_so_that_it_may_be_shown_where_advice_may_not(rulebook: Rulebook) -> None:
    lines = {tactic.id: tactic.say for tactic in rulebook.tactics.values() if tactic.show == "first"}
    assert lines.keys() >= {"heat-precautions", "uneven-or-slippery-court", "lightning-leave-court"}
    assert not [name for name, say in lines.items() if TACTICAL_WORDS.search(say)]


def test_safety_stands_first_and_is_never_bought(rulebook: Rulebook) -> None:
    for name in ("heat-precautions", "uneven-or-slippery-court", "pain-is-a-stop-sign", "safety-overrides-tactics"):
        tactic = rulebook.tactics[name]
        assert (tactic.authority, tactic.show) == (1, "first")


@pytest.mark.parametrize(
    "sign",
    [
        {"context": {"thunder": True}},
        {"observations": [{"what": "physical.warning_sign", "seen": True}]},
        {"own": {"pain_now": 2, "pain_site": "head"}},
        {"own": {"pain_now": 1, "pain_site": "chest"}},
    ],
)
def test_a_danger_sign_silences_every_tactic(asker: Asker, sign: Mapping[str, Any]) -> None:
    body = {
        "moment": "change-of-ends",
        "score": {"sets": [], "games": [0, 3], "points": ["0", "0"], "server": "own"},
        "own_errors": {"unforced": 9, "of": 14},
    }
    assert asker.ask(body).advice.suggestions
    advice = asker.ask({**body, **sign}).advice
    assert advice.suggestions == ()
    assert advice.safety
    assert all(line.alone for line in advice.safety)


def test_pain_leaves_no_tactical_line(asker: Asker, rulebook: Rulebook) -> None:
    answer = asker.ask({"moment": "set-break", "own": {"pain_now": 1}, "context": {"surface": "grass"}})
    assert [line.tactic for line in answer.advice.safety] == ["pain-is-a-stop-sign"]
    assert not [s.tactic for s in answer.advice.suggestions if rulebook.categories[s.category].tactical]


def test_safety_is_shown_even_where_advice_is_not_permitted(asker: Asker) -> None:
    barred = {"moment": "change-of-ends", "context": {"coaching": "not-permitted", "thunder": True}}
    advice = asker.ask(barred).advice
    assert [line.tactic for line in advice.safety] == ["lightning-leave-court"]
    assert advice.suggestions == ()
