"""A client for programs and notebooks. It needs requests and nothing else of this package.

    from tacticapi.client import Client

    match = Client("http://127.0.0.1:8000").match(own="Larch", opponent="Sleet")
    match.saw("warmup.middle_ball_on_forehand", 7, of=8)
    print(match.advice("after-warm-up"))

Not here: anything of the service; what an answer means is told in docs/ and by the service itself.
Next: `client`; then `advice`, `kept`, `rulebook` and `calculations` for what the service answers.
"""

from tacticapi.client.advice import Advice, Explanation, GivenAdvice, LiveAdvice, Suggestion
from tacticapi.client.client import Client, Match
from tacticapi.client.kept import Debrief, Dossier, Entry, Line, MatchRecord, Player, Receipt, Scored
from tacticapi.client.problems import (
    BrokenAnswer,
    ChangedMeanwhile,
    ClientError,
    Fault,
    Invalid,
    NoScope,
    NotFound,
    NotNow,
    NoToken,
    Problem,
    Unavailable,
    Unreachable,
)
from tacticapi.client.questions import Seen

__all__ = [
    "Advice",
    "BrokenAnswer",
    "ChangedMeanwhile",
    "Client",
    "ClientError",
    "Debrief",
    "Dossier",
    "Entry",
    "Explanation",
    "Fault",
    "GivenAdvice",
    "Invalid",
    "Line",
    "LiveAdvice",
    "Match",
    "MatchRecord",
    "NoScope",
    "NoToken",
    "NotFound",
    "NotNow",
    "Player",
    "Problem",
    "Receipt",
    "Scored",
    "Seen",
    "Suggestion",
    "Unavailable",
    "Unreachable",
]
