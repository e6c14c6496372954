"""Health items serve the running match only: which they are, how they are taken out and kept out."""

from collections.abc import Mapping, Set
from dataclasses import replace
from typing import Any

from tacticapi.club.codec import decode, encode
from tacticapi.club.services import Refused
from tacticapi.domain.advice import Advice
from tacticapi.domain.reasoning import Belief
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Observation, Situation
from tacticapi.posted import PROFILES, fact_faults, kinds_of
from tacticapi.rulebook.danger import DangerReader, sign_circumstance
from tacticapi.rulebook.files import Fault
from tacticapi.store import ObservationEntry, Snapshot

NOTES = ("note", "by", "ref")
# circumstances that no rule file derives; those of the single signs come beside them
COMPUTED_FROM_HEALTH = (
    "own-pain", "pain-stops-play", "severe-pain", "neck-pain", "sore-arm", "sore-legs", "opponent-out-of-breath",
    "warning-sign",
)  # fmt: skip


class Health:
    """The health items of one rulebook."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Collect the kinds that the vocabulary marks."""
        self.kinds = frozenset(kind.id for kind in rulebook.kinds.values() if kind.health)
        keys = {kind.key for kind in rulebook.kinds.values() if kind.health and kind.subject in PROFILES}
        self._told = self.kinds | keys | _circumstances(rulebook, self.kinds)
        bodily = {
            load
            for kind in rulebook.kinds.values()
            if kind.health and kind.subject not in PROFILES
            for measure in kind.measures
            for load in measure.loads
        }
        self._showing = {
            kind.id for kind in rulebook.kinds.values() if any(bodily & m.loads.keys() for m in kind.measures)
        }
        traits = {t.id for t in rulebook.traits.values() if any(bodily & region.of.keys() for region in t.regions)}
        self._tactics = _resting_on(rulebook, traits)
        self._bodily = _resting_on(rulebook, traits | self._told)
        self._danger = DangerReader(rulebook)

    def keys(self, subject: str, facts: Mapping[str, Any]) -> list[str]:
        """Return the keys of these facts of own, opponent or context that are health items."""
        return [key for key in facts if f"{subject}.{key}" in self.kinds]

    def without(self, subject: str, facts: Mapping[str, Any]) -> dict[str, Any]:
        """Return the facts without health items and without texts that state a danger sign."""
        kept = {key: value for key, value in facts.items() if f"{subject}.{key}" not in self.kinds}
        return {key: value for key, value in kept.items() if not self._speaks_of_health(value)}

    def cleaned(self, entry: ObservationEntry) -> ObservationEntry | None:
        """Return an entry without a note that states a danger sign; None for one that is a health item as a whole."""
        body = entry.body or {}
        if entry.kind in self.kinds or self._speaks_of_health(body.get("value")):
            return None
        noted = {name for name in NOTES if self._speaks_of_health(body.get(name))}
        return replace(entry, body={n: v for n, v in body.items() if n not in noted}) if noted else entry

    def _without_notes(self, seen: Observation) -> Observation:
        note, by, ref = (None if self._speaks_of_health(text) else text for text in (seen.note, seen.by, seen.ref))
        return replace(seen, note=note, by=by, ref=ref)

    def _speaks_of_health(self, text: Any) -> bool:
        return isinstance(text, str) and bool(self._danger.signs_in(text))

    def stripped(self, snapshot: Snapshot) -> Snapshot:
        """Return the snapshot without health items and what they caused; itself if it held none."""
        situation = decode(Situation, snapshot.situation)
        clean = self.situation(situation)
        if clean == situation:
            return snapshot
        return replace(
            snapshot,
            situation=encode(clean),
            advice=encode(self._advice(decode(Advice, snapshot.advice))),
            fired=[],
            health_removed=True,
        )

    def situation(self, situation: Situation) -> Situation:
        """Return the situation without health items; previous beliefs go too, since they may rest on them."""
        clean = replace(
            situation,
            context=self.without("context", situation.context),
            own=self.without("own", situation.own),
            opponent=self.without("opponent", situation.opponent),
            observations=tuple(
                self._without_notes(seen)
                for seen in situation.observations
                if seen.what not in self.kinds and not self._speaks_of_health(seen.value)
            ),
        )
        if clean == situation or situation.previous is None:
            return clean
        return replace(clean, previous=replace(situation.previous, beliefs={}))

    def _advice(self, advice: Advice) -> Advice:
        shown = [s for s in advice.suggestions if s.tactic not in self._tactics]
        return replace(
            advice,
            safety=tuple(line for line in advice.safety if line.tactic not in self._bodily),
            suggestions=tuple(s for s in shown if not any(reason.what in self._told for reason in s.because)),
            look_for=tuple(look for look in advice.look_for if look.what not in self.kinds),
            held_back=(),
            unused=tuple(unused for unused in advice.unused if unused.what not in self.kinds),
            beliefs=tuple(belief for belief in advice.beliefs if not self.moved(belief)),
            profile=tuple(one for one in advice.profile if one.what not in self._showing),
            notice=(),
        )

    def moved(self, belief: Belief) -> bool:
        """Return whether a belief was moved by a health item."""
        return any(part.what in self.kinds for part in belief.contributions)


def _resting_on(rulebook: Rulebook, names: Set[str]) -> frozenset[str]:
    """Return the tactics of which a condition names one of these: heat or a wet court is no health item of a person."""
    return frozenset(
        tactic.id
        for tactic in rulebook.tactics.values()
        if any(c.name in names for one in tactic.when for c in one.conditions)
    )


def _circumstances(rulebook: Rulebook, kinds: frozenset[str]) -> frozenset[str]:
    """Return the circumstances that a health item can bring about, directly or through another circumstance."""
    found = set(COMPUTED_FROM_HEALTH) | {sign_circumstance(sign.id) for sign in rulebook.danger.signs}
    while True:
        told = kinds | found
        more = {
            one.id
            for one in rulebook.circumstances.values()
            if any(c.name in told or f"{c.kind}.{c.name}" in told for all_of in one.when for c in all_of)
        }
        if more <= found:
            return frozenset(found)
        found |= more


_known: dict[str, Health] = {}


def health_of(rulebook: Rulebook) -> Health:
    """Return the health items of a rulebook, collected once a digest."""
    if rulebook.digest not in _known:
        _known[rulebook.digest] = Health(rulebook)
    return _known[rulebook.digest]


def checked_facts(subject: str, facts: Mapping[str, Any], rulebook: Rulebook, *, health: bool = True) -> dict[str, Any]:
    """Return facts of context, own or opponent by vocabulary key, without nulls. Raises Refused with every fault.

    health: whether health items may stand there, as in a running match.
    """
    given = {key: value for key, value in facts.items() if value is not None}
    faults = fact_faults(subject, given, kinds_of(rulebook, subject))
    if not health:
        where = "a health item, which serves a running match only and is not kept"
        faults += [Fault((key,), None, f"not {key}: {where}") for key in health_of(rulebook).keys(subject, given)]
    if faults:
        raise Refused(Fault((subject, *fault.path), fault.value, fault.expected) for fault in faults)
    return given
