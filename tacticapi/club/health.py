"""Find and remove health items, which are used only during the match."""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from tacticapi.club.services import Refused, standing
from tacticapi.domain.reasoning import Belief
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Observation, Situation
from tacticapi.posted import PROFILES, fact_faults, kinds_of
from tacticapi.rulebook.danger import DangerReader, sign_circumstance
from tacticapi.rulebook.files import Fault
from tacticapi.store import Entry, Feedback, Match, ObservationEntry, Record, Snapshot

NOTES = ("note", "by", "ref")
SUBJECTS = {"context": "context", "own_facts": "own", "opponent_facts": "opponent"}  # fact fields and subjects
# circumstances that no rule file derives; those of single signs are added to them
COMPUTED_FROM_HEALTH = (
    "own-pain", "pain-stops-play", "severe-pain", "neck-pain", "sore-arm", "sore-legs", "opponent-out-of-breath",
    "warning-sign",
)  # fmt: skip
Kept = TypeVar("Kept", bound=Record)


class Health:
    """The health items of one rulebook."""

    def __init__(self, rulebook: Rulebook) -> None:
        self._known, kinds = rulebook.kinds.keys(), rulebook.kinds.values()
        self.kinds = frozenset(kind.id for kind in kinds if kind.health)
        keys = {kind.key for kind in kinds if kind.health and kind.subject in PROFILES}
        self._told = self.kinds | keys | _circumstances(rulebook, self.kinds)
        measures = (one for kind in kinds if kind.health and kind.subject not in PROFILES for one in kind.measures)
        bodily = {load for measure in measures for load in measure.loads}
        self._showing = {kind.id for kind in kinds if any(bodily & one.loads.keys() for one in kind.measures)}
        traits = {t.id for t in rulebook.traits.values() if any(bodily & region.of.keys() for region in t.regions)}
        self._tactics = _resting_on(rulebook, traits)
        self._bodily = _resting_on(rulebook, traits | self._told)
        self._danger = DangerReader(rulebook)

    def keys(self, subject: str, facts: Mapping[str, Any]) -> list[str]:
        """Return the keys of those facts of own, opponent or context that are health items."""
        return [key for key in facts if f"{subject}.{key}" in self.kinds]

    def without(self, subject: str, facts: Mapping[str, Any]) -> dict[str, Any]:
        """Return the facts without health items and without text that mentions a danger sign."""
        kept = {key: value for key, value in facts.items() if f"{subject}.{key}" not in self.kinds}
        return {key: value for key, value in kept.items() if not self.speaks_of_health(value)}

    def cleaned(self, record: Kept) -> Kept | None:
        """Return a row without health items: the same row if it has none, None if the whole row is a health item."""
        match record:
            case Match():
                given: dict[str, Any] = {name: getattr(record, name) for name in SUBJECTS}
                left: dict[str, Any] = {name: self.without(SUBJECTS[name], facts) for name, facts in given.items()}
                return record if left == given else replace(record, **left)
            case Feedback():
                return replace(record, reason=None) if self.speaks_of_health(record.reason) else record
            case Entry():
                body = record.body or {}
                if isinstance(record, ObservationEntry) and (
                    record.kind in self.kinds or self.speaks_of_health(body.get("value"))
                ):
                    return None
                told = {name for name in NOTES if self.speaks_of_health(body.get(name))}
                return replace(record, body={n: v for n, v in body.items() if n not in told}) if told else record
        return record

    def speaks_of_health(self, text: Any) -> bool:
        """Return whether text mentions a danger sign."""
        return isinstance(text, str) and bool(self._danger.signs_in(text))

    def trail(self, entries: Iterable[ObservationEntry]) -> "Trail":
        """Return a match's observations, and those that contain health items."""
        listed = list(entries)
        left = {entry.id: left for entry in listed if (left := self.cleaned(entry)) is not entry}
        return Trail(listed, left, self._known)

    def stripped(self, snapshot: Snapshot, trail: "Trail") -> Snapshot:
        """Return the snapshot without health items and their effects; the same snapshot if it has none."""
        asked = snapshot.question
        facts = {name: self.without(name, asked[name]) for name in PROFILES}
        if all(facts[name] == asked[name] for name in facts) and not any(
            entry.id in trail.left and entry.sequence <= snapshot.revision for entry in trail.entries
        ):
            return snapshot
        gone = sorted({*asked["gone"], *trail.places(snapshot.revision)})
        question, advice = {**asked, **facts, "gone": gone}, self._advice(snapshot.advice)
        return replace(snapshot, question=question, advice=advice, fired=[], health_removed=True)

    def _without_notes(self, seen: Observation) -> Observation:
        note, by, ref = (None if self.speaks_of_health(text) else text for text in (seen.note, seen.by, seen.ref))
        return replace(seen, note=note, by=by, ref=ref)

    def situation(self, situation: Situation) -> Situation:
        """Return the situation without health items and without earlier advice that may be based on them."""
        clean = replace(
            situation,
            context=self.without("context", situation.context),
            own=self.without("own", situation.own),
            opponent=self.without("opponent", situation.opponent),
            observations=tuple(
                self._without_notes(seen)
                for seen in situation.observations
                if seen.what not in self.kinds and not self.speaks_of_health(seen.value)
            ),
        )
        if clean == situation or situation.previous is None:
            return clean
        previous = situation.previous
        first = None if previous.first in self._bodily else previous.first
        return replace(clean, previous=replace(previous, first=first, beliefs={}))

    def _advice(self, told: Mapping[str, Any]) -> dict[str, Any]:
        shown = [line for line in told["suggestions"] if line["tactic"] not in self._tactics]
        return {
            **told,
            "safety": [line for line in told["safety"] if line["tactic"] not in self._bodily],
            "suggestions": [s for s in shown if not any(reason["what"] in self._told for reason in s["because"])],
            "look_for": [look for look in told["look_for"] if look["what"] not in self.kinds],
            "held_back": [],
            "unused": [one for one in told["unused"] if one["what"] not in self.kinds],
            "beliefs": [b for b in told["beliefs"] if not any(p["what"] in self.kinds for p in b["contributions"])],
            "profile": [one for one in told["profile"] if one["what"] not in self._showing],
            "notice": [],
        }

    def moved(self, belief: Belief) -> bool:
        """Return whether a health item changed a belief."""
        return any(part.what in self.kinds for part in belief.contributions)


@dataclass(frozen=True, slots=True)
class Trail:
    """A match's observations, and the cleaned versions of those with health items (None if nothing is left)."""

    entries: Sequence[ObservationEntry]
    left: Mapping[str, ObservationEntry | None]
    known: Set[str]

    def places(self, revision: int) -> list[int]:
        """Return the indices, among the observations valid at a revision, of those now entirely deleted."""
        stood = standing((entry for entry in self.entries if entry.sequence <= revision), as_seen=True)
        counted = (entry for entry in stood if entry.kind in self.known)
        return [place for place, entry in enumerate(counted) if self.left.get(entry.id, entry) is None]


def _resting_on(rulebook: Rulebook, names: Set[str]) -> frozenset[str]:
    """Return the tactics with one of these names in a condition; heat and a wet court are not health items."""
    named = {t.id: {c.name for one in t.when for c in one.conditions} for t in rulebook.tactics.values()}
    return frozenset(tactic for tactic, conditions in named.items() if conditions & names)


def _circumstances(rulebook: Rulebook, kinds: frozenset[str]) -> frozenset[str]:
    """Return the circumstances that a health item can cause, directly or through another circumstance."""
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
    """Return a rulebook's health items, collected once per digest."""
    if rulebook.digest not in _known:
        _known[rulebook.digest] = Health(rulebook)
    return _known[rulebook.digest]


def checked_facts(subject: str, facts: Mapping[str, Any], rulebook: Rulebook, *, health: bool = True) -> dict[str, Any]:
    """Return the facts of context, own or opponent without nulls; `health` allows health items. Raises Refused."""
    given = {key: value for key, value in facts.items() if value is not None}
    faults = fact_faults(subject, given, kinds_of(rulebook, subject))
    if not health:
        where = "a health item, which is kept only during a match"
        faults += [Fault((key,), None, f"not {key}: {where}") for key in health_of(rulebook).keys(subject, given)]
    if faults:
        raise Refused(Fault((subject, *fault.path), fault.value, fault.expected) for fault in faults)
    return given
