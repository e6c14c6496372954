"""What no text of the rules may advise, and the sentences that name such a thing in order to forbid it."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any

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

FORBIDS = (
    "Never to run someone who looks unwell or hurt.",
    "Do not stare into the sun, and protect your eyes.",
    "With cramp, dizziness or illness in the heat, stop and get help.",
    "No distraction, and claim it if done to you",
    "Never move, talk or make a sound to disturb your opponent's shot yourself.",
    "A child is hurt or unwell; then step in at once.",
    "At the feet only, never hard at the body or head, and never before they are ready.",
    "There is any risk of hurting them, close in and hard.",
    "nobody under 18 is to be worn down",
    "nobody over 60 is to be worn down",
    "Either player shows a sign of illness or struggles for breath, it is hot, or a player is under 18 or over 60.",
    "Sore {site}: tell somebody, and stop if it gets worse or changes how you move or hit.",
    "It hurts more than slightly; then stop.",
    "Painkillers hide it and are no reason to play on.",
    "Every sprint and every stop loads the sore spot. A lost point costs less than a lost month.",
    "Never a way to make someone unwell play on.",
    "If they look ill rather than tired, stop and fetch help.",
    "Playing on through pain is how a small injury becomes a long one.",
    "The court is damp, or either player is unwell.",
    "Chest pain, unusual breathlessness or dizziness: stop at once",
    "Look again after the set; at once with a tired or sore arm.",
    "A foot on a rolling ball is one of the easiest ways to hurt an ankle",
    "it is never a trick to gain time.",
    "Sprints are a risk for older or injured players; never use it to wear down someone who looks unwell.",
    "Not against someone who moves as if hurt or looks unwell.",
    "You would still be moving in their motion",
    "a player may not try to distract the opponent",
    "Nothing that disturbs once their motion has begun, no gestures, noise or running",
    "distraction is against the rules.",
    "moving or making a noise to disturb it is against the rules.",
    "You are hurt or unwell; then stopping is the better choice.",
    "Aim to cramp the swing, never to hurt",
    "This is your own time inside the limit, never a way to hold up your opponent.",
    "A hop hurts; then settle softly on both feet.",
)
"""Texts that name such a thing to forbid it, to warn of it, or as a reason against the tactic."""

DESCRIBES = (
    "prevention, recognition and an emergency plan for exertional heat illness",
    "recognition of, and an emergency plan for, exertional heat illness",
    "Talk or noise during your shot: claim a hindrance at once",
    "Sound or movement meant to disturb breaks the rules",
    "players are silent while their ball is on its way across",
    "Serve at the body to cramp the swing",
    "Their second serves hold up when it is tight",
    "you are the one delaying.",
    "Answer stalling by routine and the rule",
    "what counts as stalling (one national code)",
    "There is a real cause, such as a far ball, an injury",
    "A slightly sore spot",
    "A slight pain that grows or makes you move differently is the start of an injury.",
    "Sore legs: shorter points",
    "Sore arm: ease the swing",
    "Heat illness",
    "a player shows a sign of heat illness on a hot day",
    "your neck hurts",
    "a shoulder, elbow, wrist or hand of yours is slightly sore",
    "a hip, thigh, knee, calf, ankle or foot of yours is slightly sore",
    "a player is dizzy",
    "Jammed by the ball at the body",
    "one ace at the body",
    "Delays play",
)
"""Texts that tell what an opponent does, what a rule says, or where a ball goes, and advise nothing of the kind."""

ALLOWED = (*FORBIDS, *DESCRIBES)

SPEECH = ("stalling", "quick serve", "false calls", "painkillers", "betting", "a gender", "left or right")
"""Topics for questions to an onlooker: those may ask about a noise or a body ball, but speak as all texts do."""

_PATTERNS = {topic: re.compile(pattern, re.IGNORECASE) for topic, pattern in FORBIDDEN.items()}


@dataclass(frozen=True, slots=True)
class Offence:
    """A text that names what may not be advised."""

    topic: str
    found: str
    text: str


def offences(text: str, topics: Iterable[str] = tuple(FORBIDDEN)) -> Iterator[Offence]:
    """Every one of the topics that the text touches, allowed sentences left out."""
    rest = text
    for allowed in ALLOWED:
        rest = rest.replace(allowed, " ")
    for topic in topics:
        if found := _PATTERNS[topic].search(rest):
            yield Offence(topic, found.group(), text)


def texts_in(value: Any) -> Iterator[str]:
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
