"""What to look for next: what of the starter set has not been seen, in the order in which it shows."""

from tacticapi.domain.advice import Look
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Phase
from tacticapi.domain.vocabulary import ObservationKind

STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.WARM_UP, Phase.GAMES),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (),
}


def unseen_starters(situation: Situation, rulebook: Rulebook, most: int) -> tuple[Look, ...]:
    """Return up to `most` kinds of the starter set that can still be seen and have not been, in starter order."""
    posted = {seen.what for seen in situation.observations}
    phases = STILL_TO_COME[situation.moment]
    kinds = sorted((k for k in rulebook.kinds.values() if k.starter is not None), key=lambda k: (k.starter or 0, k.id))
    unseen = [
        k
        for k in kinds
        if k.id not in posted and any(phase in phases for phase in k.phases) and not _known(situation, k)
    ]
    return tuple(Look(k.id, k.asks, k.probe or k.asks, 0.0) for k in unseen[:most])


def _known(situation: Situation, kind: ObservationKind) -> bool:
    """Whether the kind is a key of the profiles or the context, and has been posted there."""
    match kind.subject:
        case "opponent":
            return situation.opponent.get(kind.key) is not None
        case "context":
            return True  # the day is known to whoever asks; only the opponent is looked at
        case "own" | "plan" | "record":
            return True
        case _:
            return kind.health
