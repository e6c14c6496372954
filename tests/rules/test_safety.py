"""People can be hurt: what is risky carries a caution or a counter-indication, and danger ends tactics."""

import re

import pytest

from tacticapi.domain.rules import FactKind
from tacticapi.domain.situation import Moment

from ..builders import tally

NOT_SAFE_FOR = {
    "balls at a person or at close range": {"body-serve-to-cramp": "under-18", "attack-feet-of-player-dragged-in": ""},
    "long or provoked running in heat": {
        "win-with-consistency": "hot",
        "rally-length-by-legs": "hot under-18 senior sore-legs",
        "slow-high-bounce-patience": "hot",
        "test-suspected-fade": "hot under-18 senior wet-or-damp",
    },
    "turns and sprints on a slippery court": {
        "hit-behind-runner": "unsure-footing",
        "wrong-foot-a-strong-mover": "unsure-footing",
        "drop-shot-against-deep-position": "unsure-footing",
        "bring-a-retriever-off-the-baseline": "unsure-footing",
        "short-angle-off-a-wide-ball": "unsure-footing",
        "senior-adjustments": "wet-or-damp",
    },
    "lobs on a damp court": {
        "lob-early-and-often-enough": "wet-or-damp senior",
        "high-defensive-lob-when-stretched": "wet-or-damp senior",
    },
    "lobs into the sun": {"sun-lob-and-toss": "under-18"},
    "kick serves of a growing back": {"kick-second-serve-to-high-ball-weakness": "under-18"},
}
"""Each danger, with the tactics that touch it and the circumstances that must hold each of them back."""

TIRING = ("rally-length-by-legs", "test-suspected-fade")
"""Tactics that make the opponent work harder: nobody short of breath is met with one."""

GENERAL = "safety-overrides-tactics"
LINES = {
    "chest pain": ("chest-pain-ring-for-help",),
    "breathing": ("breathing-trouble-stop",),
    "head knock": ("head-knock-off-court",),
    "collapse": ("collapse-or-seizure-ring-for-help",),
    "seizure": ("collapse-or-seizure-ring-for-help",),
    **dict.fromkeys(("confusion", "dizziness", "vomiting", "severe headache"), ()),
    **dict.fromkeys(("chills", "weakness", "leg", "other"), ()),
}
"""Each danger sign with the lines that follow the general one."""

FOR_THE_MATCH = {"chest pain", "head knock", "collapse", "seizure"}
HEAT_SIGNS = {"collapse", "seizure", "confusion", "dizziness", "vomiting", "severe headache", "chills", "weakness"}
HEAT_LINE = "heat-illness-cool-at-once"

LOADS = {
    "arm trunk": """first-serve-as-weapon kick-second-serve-to-high-ball-weakness smash-safe-turn-and-cross
        second-serve-deep-and-varied-under-attack pace-against-slow-preparation""",
    "arm": "high-ball-to-high-ball-weakness",
    "legs": """come-in-behind-short-ball serve-and-volley-change stand-to-hit-forehands win-with-consistency
        drop-shot-against-deep-position""",
    "": """first-serve-percentage-before-pace choose-which-balls-to-chase cross-court-home
        block-return-deep-middle""",
}
"""What some tactics load more than ordinary play does, among them those that spare a sore part."""

RUNNING_WORDS = re.compile(
    r"\b(drop shots?|side to side|long runs?|corner they are leaving|behind them|pull them off|draw them in"
    r"|one more|extra ball)\b",
    re.IGNORECASE,
)
"""Words of a line that makes the opponent run or play on."""

MAKES_NOBODY_RUN = {"damp-heavy-balls": "names drop shots to leave them out"}

MUST_CAUTION = """
body-serve-to-cramp attack-feet-of-player-dragged-in bring-an-uncomfortable-player-forward
drop-shot-against-deep-position bring-a-retriever-off-the-baseline hit-behind-runner wrong-foot-a-strong-mover
lob-early-and-often-enough smash-safe-turn-and-cross rally-length-by-legs test-suspected-fade
choose-which-balls-to-chase eat-and-drink-by-plan senior-adjustments junior-adjustments adults-around-juniors
sun-lob-and-toss heat-precautions uneven-or-slippery-court lightning-leave-court pain-is-a-stop-sign spare-a-sore-spot
play-around-sore-legs play-around-a-sore-arm chest-pain-ring-for-help breathing-trouble-stop head-knock-off-court
collapse-or-seizure-ring-for-help heat-illness-cool-at-once too-hot-stop-play safety-overrides-tactics
damp-heavy-balls fast-low-bounce-first-strike show-position-then-change-it make-a-nervous-second-server-serve
meet-stalling-with-routine-and-rule slow-down-legally-when-points-run-away let-player-who-rushes-rush
"""

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


def circumstances_against(tactic):
    return {c.name for counter in tactic.unless for c in counter.conditions if c.kind is FactKind.CIRCUMSTANCE}


@pytest.mark.parametrize("danger", NOT_SAFE_FOR)
def test_what_a_danger_touches_is_held_back_by_it(rulebook, danger):
    for name, needed in NOT_SAFE_FOR[danger].items():
        tactic = rulebook.tactics[name]
        assert {*needed.split()} <= circumstances_against(tactic), name
        assert needed or tactic.caution, name


@pytest.mark.parametrize("name", TIRING)
def test_what_makes_an_opponent_work_harder_is_marked_as_tiring(rulebook, name):
    assert rulebook.tactics[name].tires


@pytest.mark.parametrize("parts", LOADS)
def test_a_tactic_says_which_part_of_the_body_it_loads(rulebook, parts):
    for name in LOADS[parts].split():
        assert {*rulebook.tactics[name].loads} == {*parts.split()}, name


def saying(words, rulebook):
    """The tactics one of whose lines holds such words."""
    for tactic in rulebook.tactics.values():
        if any(words.search(say) for say in (tactic.say, *(alternative.say or "" for alternative in tactic.when))):
            yield tactic


def test_whatever_makes_an_opponent_run_says_so(rulebook):
    running = {tactic.id for tactic in saying(RUNNING_WORDS, rulebook) if not tactic.tires}
    assert running == MAKES_NOBODY_RUN.keys()


@pytest.mark.parametrize("name", MUST_CAUTION.split())
def test_what_can_go_wrong_carries_a_caution(rulebook, name):
    assert rulebook.tactics[name].caution


def test_every_line_that_names_a_risky_stroke_is_cautioned_or_explained(rulebook):
    risky = {tactic.id for tactic in saying(RISKY_WORDS, rulebook) if not tactic.caution}
    assert risky == HARMLESS.keys()


def test_a_safety_line_holds_no_tactics_so_that_it_may_be_shown_where_advice_may_not(rulebook):
    lines = {tactic.id: tactic.say for tactic in rulebook.tactics.values() if tactic.show == "first"}
    assert lines.keys() >= {"heat-precautions", "uneven-or-slippery-court", "lightning-leave-court"}
    assert not [name for name, say in lines.items() if TACTICAL_WORDS.search(say)]


def test_safety_stands_first_and_is_never_bought(rulebook):
    for name in ("heat-precautions", "uneven-or-slippery-court", "pain-is-a-stop-sign", "safety-overrides-tactics"):
        tactic = rulebook.tactics[name]
        assert (tactic.authority, tactic.show) == (1, "first")


def shown_for(asker, *signs, **more):
    """The safety lines for these signs, posted one after the other."""
    seen = [{"what": "physical.warning_sign", "value": sign} for sign in signs]
    advice = asker.ask({"moment": "change-of-ends", "observations": seen, **more}).advice
    assert all(line.alone for line in advice.safety)
    return [line.tactic for line in advice.safety]


def test_every_sign_that_can_be_posted_has_its_lines_listed_here(rulebook):
    assert LINES.keys() == set(rulebook.kinds["physical.warning_sign"].options)
    assert {sign.id for sign in rulebook.danger.signs if sign.for_the_match} == FOR_THE_MATCH


@pytest.mark.parametrize("sign", LINES)
def test_a_sign_says_stop_first_and_then_what_to_do(asker, sign):
    assert shown_for(asker, sign) == [GENERAL, *LINES[sign]]
    cooled = [HEAT_LINE] if sign in HEAT_SIGNS else []
    for heat in ("hot", {"air_c": 31}):
        assert shown_for(asker, sign, context={"heat": heat}) == [GENERAL, *sorted([*LINES[sign], *cooled])]
    assert shown_for(asker, sign, context={"heat": "warm"}) == [GENERAL, *LINES[sign]]


def test_several_signs_have_all_their_lines_once(asker):
    ours = [GENERAL, "chest-pain-ring-for-help", "collapse-or-seizure-ring-for-help"]
    assert shown_for(asker, "seizure", "chest pain", "collapse") == ours


@pytest.mark.parametrize("sign", LINES)
def test_only_what_may_pass_is_lifted_by_a_qualified_person(asker, sign):
    shown = {"what": "physical.warning_sign", "value": sign}
    cleared = {"what": "physical.cleared", "seen": True}
    lifted = asker.ask({"moment": "change-of-ends", "observations": [shown, cleared]}).advice
    assert bool(lifted.safety) is (sign in FOR_THE_MATCH)
    for seen in ([cleared, shown], [shown, {**cleared, "seen": False}], [shown, cleared, shown]):
        again = asker.ask({"moment": "change-of-ends", "observations": seen}).advice
        assert [line.tactic for line in again.safety] == [GENERAL, *LINES[sign]]


@pytest.mark.parametrize(
    "own",
    [
        {"pain_now": 1},
        {"pain_now": 2, "pain_site": "knee"},
        {"pain_now": 4, "pain_site": "wrist"},
        *({"pain_now": 1, "pain_site": site} for site in ("neck", "back", "abdomen", "groin", "other")),
        {"pain_now": 1, "pain_site": "shoulder", "age_band": "U18"},
        {"pain_now": 1, "pain_site": "elbow", "age_band": "U14"},
        {"pain_now": 1, "pain_site": "wrist", "pain_or_limit": "sharp pain in the knee"},
    ],
)
def test_pain_that_stops_play_leaves_nothing_but_its_own_line(asker, own):
    seen = [tally("rally.against_low_ball", 1, 12, wing="backhand")]
    context = {"surface": "grass", "officials": "none"}
    advice = asker.ask({"moment": "set-break", "own": own, "context": context, "observations": seen}).advice
    assert [line.tactic for line in advice.safety] == ["pain-is-a-stop-sign"]
    assert [s.tactic for s in advice.suggestions] == ["pain-is-a-stop-sign"]
    assert (advice.plan, advice.score) == (None, None)
    assert (advice.beliefs, advice.look_for, advice.held_back, advice.unused) == ((),) * 4


@pytest.mark.parametrize(
    ("own", "part", "line"),
    [
        ({"pain_now": 1, "pain_site": "knee"}, "legs", "play-around-sore-legs"),
        ({"pain_site": "wrist"}, "arm", "play-around-a-sore-arm"),
        ({"pain_or_limit": "left ankle slightly sore"}, "legs", "play-around-sore-legs"),
        ({"pain_now": 1, "pain_site": "knee", "age_band": "U14"}, "legs", "play-around-sore-legs"),
    ],
)
def test_a_slightly_sore_limb_is_spared_and_other_tactics_stay(asker, rulebook, own, part, line):
    able = {"handedness": "right", "serve_placement": 4, "volley": 4, "first_serve_speed": 4, "second_serve_safety": 4}
    seen = [tally("rally.ran_round_backhand", 9, 10)]
    seen += [tally("record.first_serves_in", 8, 12)]
    body = {"moment": "set-break", "context": {"surface": "grass"}, "observations": seen}
    advice = asker.ask({**body, "own": {**able, **own}}).advice
    told = [s.tactic for s in advice.suggestions]
    assert [safety.tactic for safety in advice.safety] == ["spare-a-sore-spot"]
    assert told[:2] == ["spare-a-sore-spot", line]
    assert [name for name in told if rulebook.categories[rulebook.tactics[name].category].tactical]
    assert not [name for name in told if part in rulebook.tactics[name].loads]
    assert [held.tactic for held in advice.held_back if held.why.endswith(f"hurts, and this loads the {part}")]


def test_a_line_of_care_takes_no_place_of_a_tactic_unless_a_limit_is_posted(asker, rulebook):
    body = {"moment": "change-of-ends", "own": {"pain_now": 1, "pain_site": "wrist"}, "context": {"heat": "hot"}}
    care = ["heat-precautions", "spare-a-sore-spot"]
    by_moment, posted = (asker.ask(body, limit=limit).advice.suggestions for limit in (None, 2))
    assert [s.tactic for s in by_moment][:2] == care
    assert len(by_moment) == rulebook.moments[Moment.CHANGE_OF_ENDS].limit + len(care)
    assert [s.tactic for s in posted] == care


@pytest.mark.parametrize("opponent", [{"rating": 0}, {"rating": 1}])
def test_nobody_short_of_breath_is_worked_harder(asker, rulebook, opponent):
    seen = [{"what": "plan.felt", "rating": 1}, {"what": "physical.heavy_legs", "seen": True}]
    body = {"moment": "change-of-ends", "own": {"drop_shot": 3}, "observations": seen}
    assert set(TIRING) <= {s.tactic for s in asker.ask(body).advice.suggestions}
    breathless = [*seen, {"what": "physical.recovery_of_breath", **opponent}]
    answer = asker.ask({**body, "observations": breathless})
    assert not [s.tactic for s in answer.advice.suggestions if rulebook.tactics[s.tactic].tires]
    (why,) = {answer.held_because(name) for name in TIRING}
    assert why == "your opponent is short of breath: do not work them harder"


@pytest.mark.parametrize(
    ("age", "wbgt", "line"),
    [
        ("open", 32.2, "too-hot-stop-play"),
        ("open", 32.1, "heat-precautions"),
        ("U14", 28.0, "too-hot-stop-play"),
        ("U14", 27.9, "heat-precautions"),
        ("70+", 30.1, "too-hot-stop-play"),
        ("U18", 25.0, "heat-precautions"),
        ("U18", 24.9, None),
    ],
)
def test_heat_asks_for_care_beside_tactics_and_then_stops_play(asker, age, wbgt, line):
    context = {"heat": {"wbgt": wbgt}, "coaching": "permitted", "device": "coach"}
    advice = asker.ask({"moment": "set-break", "own": {"age_band": age}, "context": context}).advice
    assert [safety.tactic for safety in advice.safety] == ([line] if line else [])
    assert bool(advice.suggestions) is (line != "too-hot-stop-play")
