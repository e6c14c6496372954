"""Every text of the rules: nothing unsafe or unfair is advised, nobody is he or she, nothing lies left or right."""

import re
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path

import pytest
import yaml

from tacticapi.advice.words import condition_words
from tacticapi.rulebook.facts import all_conditions

MAX_LINE_LENGTH = 140  # characters that can be said and heard at a change of ends
MAX_SAY, MAX_STOP = 24, 14  # words: of 45 in a suggestion, so that at least seven are left for a reason

FORBIDDEN = {
    "stalling": r"\b(stall\w*|dawdl\w*|play for time|gain time|waste time|hold (them |your opponent )?up|delay\w*)\b"
    r"|\b(take|use) (longer|more time) than\b|\bmake them wait\b|\btoilet break\b",
    "distraction": r"\b(distract\w*|disturb\w*|unsettle|put them off|stare|shout|stamp|wave|talk\w*|noise)\b"
    r"|\bmov\w+ (during|in) (their|the) (motion|serve|toss)\b",
    "quick serve": r"\b(quick(er)? serves?|serve (before|while) they|before they are ready|rush them)\b",
    "false calls": r"\bcall\w* .{0,25}\bout\b|\b(false|wrong) calls?\b|\bcall .{0,20}\bin your favour\b",
    "hitting a person": r"\b(at (the|their) (body|head|face|chest|person|player)|at them|hit (your opponent|them))\b"
    r"|\b(hurt\w*|injur\w*)\b",
    "using weakness of body": r"\b(strapp\w+|brace|plaster|bandage|sore|limp\w*|unwell|ill|illness|sick|dizz\w+)\b"
    r"|\bcramps?\b(?! the swing)|\b(wear|worn) (\w+ )?down\b",
    "painkillers": r"\b(painkillers?|pain[- ]relief|ibuprofen|paracetamol|aspirin|numb|through( the)? pain)\b",
    "betting": r"(?<!at )\b(bets?|betting|odds|stakes?|wager\w*|bookmaker\w*)\b",
    "a gender": r"\b(she|her|hers|herself|he|his|him|himself)\b",
    "left or right": r"\b(left|right)[ -](side|wing|corner|half|of)\b"
    r"|\b(to|on|from|at) (the|their|your opponent's) (left|right)(?=\s*([.,;:)]|$))",
    "a hidden message": r"\b(hand signs?|secret\w*|coded)\b",
}

_READ = yaml.safe_load(Path(__file__).with_name("allowed_texts.yaml").read_text(encoding="utf-8"))
FORBIDS, DESCRIBES = _READ["forbids"], _READ["describes"]
ALLOWED = (*FORBIDS, *DESCRIBES)

SPEECH = ("stalling", "quick serve", "false calls", "painkillers", "betting", "a gender", "left or right")
"""Topics for questions to an onlooker: those may ask about a noise or a body ball, but speak as all texts do."""

_PATTERNS = {topic: re.compile(pattern, re.IGNORECASE) for topic, pattern in FORBIDDEN.items()}


def offences(text, topics=tuple(FORBIDDEN)):
    """Every one of the topics that the text touches, with what names it, allowed sentences left out."""
    rest = text
    for allowed in ALLOWED:
        rest = rest.replace(allowed, " ")
    for topic in topics:
        if found := _PATTERNS[topic].search(rest):
            yield topic, found.group(), text


def texts_in(value):
    """Every sentence in a rulebook object; ids, keys and words of closed lists are none."""
    if isinstance(value, Enum):
        return
    if isinstance(value, str):
        if " " in value:
            yield value
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from texts_in(item)
    elif is_dataclass(value):
        for field in fields(value):
            yield from texts_in(getattr(value, field.name))


FORBIDDING = re.compile(
    r"\b(never|not|no|nobody|nothing|stop\w*|against|step in|look again|leave|lost|risk|painful|in the heat|unwell"
    r"|hurts|is how|easiest ways|shows a sign|would still)\b",
    re.IGNORECASE,
)

BAD = [
    ("stalling", "Take longer than you need between points and let them cool down."),
    ("stalling", "Dawdle at the towel when they are in flow."),
    ("distraction", "Shout as they toss the ball."),
    ("distraction", "Move during their motion to put them off."),
    ("quick serve", "Try a quick serve before they are ready."),
    ("false calls", "On big points call the close ones out."),
    ("hitting a person", "At the net, hit them with the first hard ball."),
    ("hitting a person", "Drive it at the body so that they are hurt."),
    ("using weakness of body", "They wear strapping on the knee: run them wide."),
    ("using weakness of body", "They look unwell, so lengthen the points."),
    ("painkillers", "Take ibuprofen and play on."),
    ("betting", "The odds favour you in the second set."),
    ("a gender", "Serve to her backhand."),
    ("left or right", "Serve to the left side of your opponent."),
    ("left or right", "Hit the next ball to their left."),
    ("a hidden message", "The coach shows a hand sign for plan B."),
]


@pytest.mark.parametrize(("topic", "text"), BAD)
def test_a_bad_text_is_found(topic, text):
    assert topic in {topic for topic, *_ in offences(text)}


def test_every_topic_has_a_bad_text_to_prove_it_and_a_plain_text_passes():
    assert {topic for topic, _ in BAD} == FORBIDDEN.keys()
    for text in ("Rally across the court, deep and with height.", "Stand where they see you."):
        assert list(offences(text)) == []


def test_no_tactic_trait_or_circumstance_says_anything_unsafe_or_unfair(rulebook):
    told = [rulebook.tactics, rulebook.traits, rulebook.circumstances]
    texts = [text for group in told for item in group.values() for text in texts_in(item)]
    assert len(texts) > 1_000
    assert [offence for text in texts for offence in offences(text)] == []


def test_no_question_to_an_onlooker_is_unfair_or_gendered(rulebook):
    texts = [text for kind in rulebook.kinds.values() for text in texts_in(kind)]
    assert [offence for text in texts for offence in offences(text, SPEECH)] == []


def test_what_is_allowed_stands_in_the_rules_and_forbids_what_it_names(rulebook):
    told = [rulebook.tactics, rulebook.traits, rulebook.circumstances]
    whole = "\n".join(text for group in told for item in group.values() for text in texts_in(item))
    assert [text for text in ALLOWED if text not in whole] == []
    assert [text for text in FORBIDS if not FORBIDDING.search(text)] == []


def test_no_condition_is_told_by_a_name_of_the_matcher(rulebook):
    told = [condition_words(condition, rulebook) for condition in all_conditions(rulebook)]
    assert [words for words in told if re.search(r"\b(whole|part|permille)\b|_", words)] == []


def test_strapping_is_asked_for_by_nothing(entries, rulebook):
    kinds = [entries.by_kind[kind] for kind in ("tactics", "circumstances", "traits")]
    named = [str(entry.data) for kind in kinds for entry in kind.values()]
    assert [data for data in named if "visible_strapping" in data] == []
    assert rulebook.kinds["opponent.visible_strapping"].unused_because


def test_illness_and_pain_are_no_traits_and_move_none(rulebook):
    """They speak through safety alone; breath and legs are what the trait `tires` is about."""
    moving = {kind.id for kind in rulebook.kinds.values() if kind.measures}
    healthy = {"physical.recovery_of_breath", "physical.heavy_legs"}
    assert moving & {kind.id for kind in rulebook.kinds.values() if kind.health} <= healthy
    assert "physical.warning_sign" not in moving


def test_every_line_is_short_enough_to_be_said_and_leaves_room_for_its_reason(rulebook):
    lines = [(t.id, say) for t in rulebook.tactics.values() for say in (t.say, *(each.say for each in t.when)) if say]
    long = [(name, say) for name, say in lines if len(say) > MAX_LINE_LENGTH or len(say.split()) > MAX_SAY]
    assert long == []
    assert [name for name, say in lines if not say.strip().endswith((".", "?", "!"))] == []
    stops = [(tactic.id, tactic.stop_when) for tactic in rulebook.tactics.values()]
    assert [(name, stop) for name, stop in stops if len(stop.split()) > MAX_STOP] == []
