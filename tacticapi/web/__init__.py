"""Provide the web pages: templates, static files, guides and texts from the rulebook; the browser fills them in."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.advice.safety import COVERED
from tacticapi.domain.rules import ObservationKind
from tacticapi.domain.situation import Coaching, Moment, Observation, Phase, Situation, Way
from tacticapi.rulebook.danger import WARNING_SIGN

TEMPLATES = Path(__file__).with_name("templates")
STATIC = Path(__file__).with_name("static")
WORKER, MANIFEST = "offline.js", "manifest.webmanifest"
_BESIDE = {WORKER, "door.js"}  # not part of the match page
MODULES = tuple(sorted({file.relative_to(STATIC).as_posix() for file in STATIC.rglob("*.js")} - _BESIDE))
FILES = ("text/javascript", "text/css", "image/svg+xml", "image/png", "application/manifest+json")
GUIDES = {
    file.stem: file.read_text(encoding="utf-8") for file in sorted(Path(__file__).with_name("guide").glob("*.md"))
}
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; worker-src 'self'; "
    "manifest-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
NOT_ASKED = ("says", "phases", "measures", "same_as", "probe", "trap")  # not used on the page in this form
LEFT_OUT = ("plan", "record")  # the page counts tries itself; facts from earlier matches come before the match
_FOR_CLIENTS = re.compile(r"`|\bpost\b", re.IGNORECASE)
_TO_COACH = (
    (r"\bask an observer to ", ""),
    (r"\bkeep your eyes on\b", "watch"),
    (r"\byour opponent\b", "the opponent"),
    (r"\bDo you\b(?! see)", "Does your player"),
    (r"\bdo you\b", "does your player"),
    (r"\bare you\b", "is your player"),
    (r"\byou swing, you were\b", "your player swings, they were"),
    (r"\byou (are|were)\b", "your player was"),
    (r"\bas you hit\b", "as your player hits"),
    (r"\byou feed and press\b", "your player feeds and presses"),
    (r"\bboth of you\b", "both players"),
    (r"\byours\b", "your player's"),
    (r"\b([Yy])our (?!player)", r"\1our player's "),
    (r"(?<!did )\byou (give|look|play|send|stand|start|strike)\b", r"your player \1s"),
    (r"(?<!gave )\byou\b(?! see)", "your player"),
)
_LOOKING = re.compile(  # a way to see something that also works for somebody who does not play
    r"(ask an observer to )?(compare|count|judge|listen|look|mark|name|note|tally|watch|write)\b"
    r"|keep (a rough count|count|the points|your eyes)|(have|let|the|when)\b"
)
_AGAIN = re.compile(r"\byour player's")  # after the first mention, "their" is clear
_SENTENCE = re.compile(r"(?<=[.?]) ")
Present = Callable[[ObservationKind], dict[str, Any]]


def page_data(adviser: Adviser, served: Present) -> dict[str, Any]:
    """Return the kinds as the API serves them (`served`), when coaching is permitted, and the danger-sign lines."""
    rulebook = adviser.rulebook
    kinds = (kind for kind in rulebook.kinds.values() if kind.subject not in LEFT_OUT)
    return {
        "kinds": [_asked(kind, served(kind)) for kind in kinds],
        "permitted": {word.value: sorted(moment.value for moment in COVERED[word]) for word in Coaching},
        "rulebook": rulebook.digest,
        "signs": signs(adviser),
    }


@cache
def signs(adviser: Adviser) -> list[dict[str, Any]]:
    """Return each danger sign with its safety lines, for use offline; None stands for a sign of an unknown kind."""
    lasting = {sign.id for sign in adviser.rulebook.danger.signs if sign.for_the_match}
    values = (None, *adviser.rulebook.kinds[WARNING_SIGN].options)
    return [{"value": v, "for_the_match": v in lasting, "lines": _lines(adviser, v)} for v in values]


def _lines(adviser: Adviser, sign: str | None) -> list[dict[str, Any]]:
    said: dict[str, Any] = {"way": Way.VALUE, "value": sign} if sign else {"way": Way.SEEN, "seen": True}
    seen = Observation(index=0, what=WARNING_SIGN, **said)
    advice = adviser.recommend(Situation(Moment.CHANGE_OF_ENDS, observations=(seen,)))
    titles = adviser.rulebook.tactics
    return [
        {"tactic": line.tactic, "title": titles[line.tactic].title, "say": line.say, "caution": line.caution}
        for line in advice.safety
    ]


def _asked(kind: ObservationKind, served: dict[str, Any]) -> dict[str, Any]:
    body = {name: value for name, value in served.items() if name not in NOT_ASKED}
    phases = {"warm_up": Phase.WARM_UP in kind.phases, "games": Phase.GAMES in kind.phases}
    ways = [way for way in kind.ways if way is not _second_count(kind)]
    told = {"asks": spoken(kind), "notes": _notes(kind)}
    coach = {"asks": to_coach(spoken(kind)), "notes": notes_for_coach(kind)}
    return {**body, **told, "coach": coach, "ways": ways, **phases}


def _notes(kind: ObservationKind) -> list[str]:
    return [*([f"To see it: {kind.probe}."] if kind.probe else []), *([f"Careful: {kind.trap}"] if kind.trap else [])]


def notes_for_coach(kind: ObservationKind) -> list[str]:
    """Return how to see something and what can mislead the observer, worded for a coach beside the court."""
    notes = _notes(kind)
    if kind.probe and kind.subject != "context" and not _LOOKING.match(kind.probe):
        return [f"How your player can find out: {kind.probe}.", *map(to_coach, notes[1:])]
    return [to_coach(note) for note in notes]


def spoken(kind: ObservationKind) -> str:
    """Return the question without the sentences that tell a program how to post the answer."""
    first, *rest = _SENTENCE.split(kind.asks)
    gone = ("As a count:", "As counts:") if _second_count(kind) is Way.COUNTS else ("As a count:",)
    told = [each for each in rest if not _FOR_CLIENTS.search(each) and not each.startswith(gone)]
    return " ".join([first, *told]).replace("`", "")


def to_coach(asks: str) -> str:
    """Rephrase a question to the player as a question to a coach beside the court."""
    for word, other in _TO_COACH:
        asks = re.sub(word, other, asks)
    first, player, rest = asks.partition("your player")
    return first + player + _AGAIN.sub("their", rest)


def _second_count(kind: ObservationKind) -> Way | None:
    """Return the second form of count, if any, which the page omits: one tap must not ask for two counts."""
    counts = [way for way in kind.ways if way in (Way.COUNT, Way.COUNTS)]
    return counts[1] if len(counts) == 2 else None
