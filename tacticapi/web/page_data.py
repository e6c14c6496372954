"""What the match page is told by the rulebook: what to ask, and when an event lets advice be read."""

import re
from typing import Any

from tacticapi.advice.safety import COVERED
from tacticapi.api.vocabulary.schemas import kind_body
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Coaching, Phase, Way
from tacticapi.domain.vocabulary import ObservationKind

NOT_ASKED = ("says", "ages", "phases")  # of no use on the page
LEFT_OUT = ("plan", "record")  # the page counts tries by itself, and what is known of earlier matches comes before it
_FOR_CLIENTS = re.compile(r"`|\bpost\b", re.IGNORECASE)
_SENTENCE = re.compile(r"(?<=[.?]) ")


def page_data(rulebook: Rulebook) -> dict[str, Any]:
    """The kinds to ask about in vocabulary order, and the moments at which each word on coaching permits advice."""
    kinds = (kind for kind in rulebook.kinds.values() if kind.subject not in LEFT_OUT)
    return {
        "kinds": [_asked(kind) for kind in kinds],
        "permitted": {word.value: sorted(moment.value for moment in COVERED[word]) for word in Coaching},
        "rulebook": rulebook.digest,
    }


def _asked(kind: ObservationKind) -> dict[str, Any]:
    body = {name: value for name, value in kind_body(kind).items() if name not in NOT_ASKED}
    phases = {"warm_up": Phase.WARM_UP in kind.phases, "games": Phase.GAMES in kind.phases}
    ways = [way for way in kind.ways if way is not _second_count(kind)]
    return {**body, "asks": spoken(kind), "ways": ways, **phases}


def spoken(kind: ObservationKind) -> str:
    """The question without the sentences after it that tell a program how to post the answer.

    The buttons of a count say by themselves what is counted.
    """
    first, *rest = _SENTENCE.split(kind.asks)
    gone = ("As a count:", "As counts:") if _second_count(kind) is Way.COUNTS else ("As a count:",)
    told = [each for each in rest if not _FOR_CLIENTS.search(each) and not each.startswith(gone)]
    return " ".join([first, *told]).replace("`", "")


def _second_count(kind: ObservationKind) -> Way | None:
    """The way of counting that the page leaves out: one tap must not ask for two counts of the same stroke."""
    counts = [way for way in kind.ways if way in (Way.COUNT, Way.COUNTS)]
    return counts[1] if len(counts) == 2 else None
