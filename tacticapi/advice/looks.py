"""What to look for next: the looks that could gain the plan most, then what a beginner would look at first."""

from collections.abc import Collection, Iterable, Iterator
from heapq import merge
from itertools import islice

from tacticapi.advice.plays import Plays
from tacticapi.domain.advice import Look
from tacticapi.domain.firing import Firings, Inference
from tacticapi.domain.look import Outlook, TraitKey
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Phase
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.evidence import Beliefs, EvidenceModel, Prospects
from tacticapi.value import Baseline, LookTable, MatchPricer, PlayTable, Stakes

STILL_TO_COME = {
    Moment.BEFORE_MATCH: (Phase.BEFORE, Phase.WARM_UP),
    Moment.AFTER_WARM_UP: (Phase.WARM_UP, Phase.GAMES),
    Moment.BETWEEN_POINTS: (Phase.GAMES,),
    Moment.CHANGE_OF_ENDS: (Phase.GAMES,),
    Moment.SET_BREAK: (Phase.GAMES,),
    Moment.AFTER_MATCH: (),
}
WORTH_DIGITS = 4
LEAST_WORTH = 0.5 * 10**-WORTH_DIGITS  # less is told as nothing
NO_STARTER = 10_000  # kinds outside the starter set come after it

Phases = tuple[Phase, ...]


class LookFinder:
    """Finds the looks of one rulebook. What a first look at each kind can show is worked out once."""

    def __init__(self, rulebook: Rulebook, evidence: EvidenceModel) -> None:
        """Lay out the ways of playing that rest on a trait, and the looks of every phase at those traits."""
        self._rulebook = rulebook
        self._plays = Plays(rulebook)
        self._keys = list(dict.fromkeys(key for play in self._plays.all for key in play.rests_on))
        self._play_table = PlayTable(self._plays.all, self._keys)
        self._prospects = Prospects(rulebook, evidence, self._keys)
        self._order = {kind.id: (kind.starter or NO_STARTER, n) for n, kind in enumerate(rulebook.kinds.values())}
        starters = (kind for kind in rulebook.kinds.values() if kind.starter is not None)
        self._starter_set = sorted(starters, key=lambda kind: self._order[kind.id])
        self._tables: dict[Phases, LookTable] = {}
        for phases in {phases_left(moment, fitting) for moment in Moment for fitting in (None, 0, 1)}:
            self._tables[phases] = self._table(self._prospects.unseen(phases))

    def stakes(
        self,
        situation: Situation,
        beliefs: Beliefs,
        *,
        inference: Inference,
        firings: Firings,
        base: Baseline,
        pricer: MatchPricer,
    ) -> Stakes:
        """What hangs on each belief in the ways of playing that wait for nothing but their traits."""
        open_plays = self._plays.open(inference, firings, situation.own)
        chances = [beliefs.by_key[key].probability for key in self._keys]
        return self._play_table.stakes(
            open_plays, situation, chances, base=base, pricer=pricer, defaults=self._rulebook.defaults
        )

    def look_for(
        self, situation: Situation, beliefs: Beliefs, stakes: Stakes, mute: Collection[str]
    ) -> tuple[Look, ...]:
        """Return the looks that are worth most, best first, filled up from the starter set in its order.

        Where something posted told nothing (`mute`: the subjects of such kinds), the last place goes to the first of
        the starter set at the same subject. Where `minutes_left` of the warm-up are posted, only as many looks as fit
        into them, in the order of the warm-up; if none fits any more, the looks are those of the first games.
        """
        rule = self._rulebook.defaults["looks"]
        fitting = looks_that_fit(situation, float(rule["minutes"]))
        phases = phases_left(situation.moment, fitting)
        most = min(int(rule["shown"]), fitting) if fitting else int(rule["shown"])
        looks = list(islice(self._best(situation, phases, beliefs, stakes), most))
        starters = (kind for kind in self._starters(situation, phases, looks) if kind.subject in mute)
        if mute and (instead := next(starters, None)):
            looks = [*looks[: most - 1], _starter_look(instead)]
        rest = islice(self._starters(situation, phases, looks), most - len(looks))
        looks += [_starter_look(kind) for kind in rest]
        return tuple(sorted(looks, key=lambda look: self._order[look.what]) if fitting else looks)

    def _best(self, situation: Situation, phases: Phases, beliefs: Beliefs, stakes: Stakes) -> Iterator[Look]:
        """The looks that are worth anything, the best first: one a kind, and one a trait, as they stand in for it."""
        told: set[str | TraitKey] = set()
        for worth, outlook in self._priced(phases, beliefs, stakes):
            kind = self._rulebook.kinds[outlook.what]
            if outlook.what not in told and outlook.key not in told and not is_known(situation, kind):
                told |= {outlook.what, outlook.key}
                yield _look(outlook, kind, round(worth, WORTH_DIGITS))

    def _priced(self, phases: Phases, beliefs: Beliefs, stakes: Stakes) -> Iterator[tuple[float, Outlook]]:
        """Every look worth anything, the best first: kinds seen already from where they stand, the others from new."""
        first = (pair for pair in self._tables[phases].worthy(stakes, LEAST_WORTH) if pair[1].what not in beliefs.pools)
        wanted = {key for key, worth in zip(self._keys, stakes.certainty.tolist(), strict=True) if worth >= LEAST_WORTH}
        seen = self._prospects.seen(phases, beliefs.pools, wanted)
        if not seen:
            return first
        again = self._table(seen).worthy(stakes, LEAST_WORTH)
        return merge(first, again, key=lambda pair: (-pair[0], self._order[pair[1].what]))

    def _table(self, outlooks: Iterable[Outlook]) -> LookTable:
        """The looks in the order in which equals are told: that of the starter set, then of the vocabulary."""
        return LookTable(sorted(outlooks, key=lambda outlook: self._order[outlook.what]), self._keys)

    def _starters(self, situation: Situation, phases: Phases, looks: Iterable[Look]) -> Iterator[ObservationKind]:
        """The kinds of the starter set that can still be seen and have not been, nor are among the looks, in order."""
        gone = {seen.what for seen in situation.observations} | {look.what for look in looks}
        kinds = (kind for kind in self._starter_set if kind.id not in gone and not is_known(situation, kind))
        return (kind for kind in kinds if any(phase in phases for phase in kind.phases))


def looks_that_fit(situation: Situation, minutes: float) -> int | None:
    """How many looks of so many minutes the rest of the warm-up has room for, None where that is not limited."""
    if situation.minutes_left is None or Phase.WARM_UP not in STILL_TO_COME[situation.moment]:
        return None
    return int(situation.minutes_left / minutes)


def phases_left(moment: Moment, fitting: int | None) -> Phases:
    """The phases of which looks are told: all still to come, or those before the games while looks fit in them."""
    phases = STILL_TO_COME[moment]
    if fitting is None:
        return phases
    left_out = Phase.GAMES if fitting else Phase.WARM_UP
    return tuple(phase for phase in phases if phase is not left_out)


def is_known(situation: Situation, kind: ObservationKind) -> bool:
    """Whether the kind is no matter of looking at the opponent, or has been posted in the profile."""
    match kind.subject:
        case "opponent":
            return kind.health or situation.opponent.get(kind.key) is not None
        case "own" | "context" | "plan" | "record":
            return True
        case _:
            return kind.health


def _look(outlook: Outlook, kind: ObservationKind, worth: float) -> Look:
    wing = outlook.on_wing if "wing" in kind.qualifiers else None
    how = kind.probe or kind.asks
    return Look(kind.id, kind.asks, f"{how} ({wing})" if wing else how, worth, outlook.trait, wing)


def _starter_look(kind: ObservationKind) -> Look:
    return Look(kind.id, kind.asks, kind.probe or kind.asks, 0.0)
