"""Detect danger signs and pain, posted as a sign, a site, a number or words, using rules/danger-signs.yaml."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from tacticapi.domain.rules import DangerWords, Rulebook
from tacticapi.domain.situation import Observation, Situation, Way

WARNING_SIGN, CLEARED = "physical.warning_sign", "physical.cleared"
BREATH = "physical.recovery_of_breath"
ANY_SIGN = "other"
PAIN_IN_WORDS = "pain_or_limit"
SITE_SIGNS: Mapping[str, str] = {"chest": "chest pain", "head": "head knock"}
SLIGHT, CLEAR, SEVERE = 1, 2, 3
UNDER_18 = frozenset({"U12", "U14", "U18"})

_NEGATED_WITHIN = 3
_DENIED_AFTER = (["none"], ["nil"], ["negative"])
_ALL_DENIED = (["all", "no"], ["all", "none"], ["all", "clear"], ["all", "fine"])
_COMMAS = frozenset({",", "but", "and"})
_TOKEN, _CLAUSE_END = re.compile(r"[a-z0-9]+|,"), re.compile(r"[.!?;\n]")
_GONE = ""

Slot = int
Part = tuple[Slot, ...]
_Entry = tuple[str, tuple[Part, ...]]


@dataclass(frozen=True, slots=True)
class Pain:
    """The advised player's pain, 1 (slight) to 4 (severe), its sites (empty if unknown), and whether it stops play."""

    degree: int
    sites: tuple[str, ...]
    stops: bool


@dataclass(frozen=True, slots=True)
class Health:
    """Both players' health as posted: danger signs, own pain and sore parts, and an opponent out of breath."""

    signs: tuple[str, ...] = ()
    pain: Pain | None = None
    breathless: bool = False
    sore: tuple[str, ...] = ()
    read: frozenset[int] = field(default_factory=frozenset)
    """The indexes of the observations in which a sign was found."""


def sign_circumstance(sign: str) -> str:
    """Return the circumstance for a danger sign, such as sign-chest-pain for chest pain."""
    return f"sign-{sign.replace(' ', '-')}"


class DangerReader:
    """Detects danger signs and pain with the word lists of one rulebook."""

    def __init__(self, rulebook: Rulebook) -> None:
        words = rulebook.danger

        def pain(entry: str) -> _Patterns:
            return _Patterns(words, words.not_pain, [("", entry)])

        self._limits = rulebook.defaults["pain"]
        self._lasting = frozenset(sign.id for sign in words.signs if sign.for_the_match)
        self._sites = {site: pain(entry) for site, entry in words.pain_sites.items()}
        self._hurts, self._clear, self._fine = pain(words.hurts), pain(words.clear), pain(words.fine)
        signs = _Patterns(words, words.harmless, [(sign.id, each) for sign in words.signs for each in sign.words])
        self.signs_in = lru_cache(maxsize=4096)(signs.signs_in)

    def read(self, situation: Situation) -> Health:
        """Return both players' health as posted in a situation."""
        found: dict[str, int] = {}
        read: set[int] = set()
        for name in self.in_facts(situation.own, situation.opponent, situation.context):
            found[name] = len(situation.observations)  # a profile fact has no time, so no observation clears it
        for place, seen in enumerate(situation.observations):
            for name in self._in_observation(seen):
                found[name] = place
                read.add(place)
        cleared = max((n for n, o in enumerate(situation.observations) if o.what == CLEARED and o.seen), default=-1)
        signs = tuple(name for name, place in found.items() if name in self._lasting or place > cleared)
        pain = self._pain(situation)
        breathless = any(o.what == BREATH and o.rating is not None and o.rating <= 1 for o in situation.observations)
        parts: Mapping[str, str] = self._limits["spared"]
        sore = tuple(sorted({parts[site] for site in pain.sites})) if pain and not pain.stops else ()
        return Health(signs, pain, breathless, sore, frozenset(read))

    def in_facts(self, *profiles: Mapping[str, Any]) -> tuple[str, ...]:
        """Return the danger signs in these profiles, each once: first those from pain sites, then from free text."""
        sites = (SITE_SIGNS[p["pain_site"]] for p in profiles if p.get("pain_site") in SITE_SIGNS)
        texts = (item for profile in profiles for item in profile.values() if isinstance(item, str))
        return tuple(dict.fromkeys([*sites, *(name for text in texts for name in self.signs_in(text))]))

    def _in_observation(self, seen: Observation) -> Iterator[str]:
        if seen.what == WARNING_SIGN and seen.seen is not False:
            yield seen.value if seen.way is Way.VALUE and seen.value else ANY_SIGN
        for text in (seen.value and seen.way is Way.TEXT and seen.value, seen.note, seen.by, seen.ref):
            if text:
                yield from self.signs_in(text)

    def _pain(self, situation: Situation) -> Pain | None:
        own, limits = situation.own, self._limits
        said, site, text = own.get("pain_now"), own.get("pain_site"), own.get(PAIN_IN_WORDS)
        degree = int(said) if said is not None else (SLIGHT if site else 0)
        sites = {site} if site and degree else set[str]()
        in_words, named = self._pain_in_words(text) if text else (0, set[str]())
        degree, sites = max(degree, in_words), sites | named
        if not degree:
            return None
        young = {own.get("age_band"), situation.context.get("age_band")} & UNDER_18
        spared = set(limits["spared"]) - (set(limits["stops_under_18"]) if young else set())
        stops = degree >= int(limits["stops_from"]) or not sites or not sites <= spared
        return Pain(degree, tuple(sorted(sites)), stops)

    def _pain_in_words(self, text: str) -> tuple[int, set[str]]:
        """Return how severe the pain in this text is (0 if there is none), and where it hurts."""
        sites = {site for site, words in self._sites.items() if words.found_in(text)}
        hurts = self._hurts.found_in(text)
        if not hurts and (not sites or self._fine.found_in(text)):
            return 0, set()
        return (CLEAR if self._clear.found_in(text, denied=False) else SLIGHT), sites


class _Patterns:
    """The word list's entries with their signs, indexed by word."""

    def __init__(self, words: DangerWords, harmless: Iterable[str], signs: Iterable[tuple[str, str]]) -> None:
        self._window, self._negators = words.window, words.negators
        self._exact: dict[str, set[Slot]] = defaultdict(set)
        self._stems: dict[str, set[Slot]] = defaultdict(set)
        self._slots = 0
        self._harmless = _by_first(self._entry("", each) for each in harmless)
        self._signs = _by_first(self._entry(sign, each) for sign, each in signs)

    def signs_in(self, text: str) -> tuple[str, ...]:
        return tuple(self._fitting(text, denied=True))

    def found_in(self, text: str, *, denied: bool = True) -> bool:
        """Return whether any entry matches; if `denied` is False, negations are ignored."""
        return any(True for _ in self._fitting(text, denied=denied))

    def _entry(self, sign: str, text: str) -> _Entry:
        return sign, tuple(tuple(self._slot(word) for word in part.split("_")) for part in text.split(" "))

    def _slot(self, alternatives: str) -> Slot:
        self._slots += 1
        for word in alternatives.split("|"):
            (self._stems if word.endswith("*") else self._exact)[word.rstrip("*")].add(self._slots)
        return self._slots

    def _of(self, word: str) -> set[Slot]:
        found = set(self._exact.get(word, ()))
        for length in range(1, len(word) + 1):
            found |= self._stems.get(word[:length], set())
        return found

    def _fitting(self, text: str, *, denied: bool) -> Iterator[str]:
        found: set[str] = set()
        for clause in _clauses(text):
            slots = [self._of(word) for word in clause]
            for _, places in self._fits(self._harmless, slots):
                for place in places:
                    clause[place], slots[place] = _GONE, set()
            for sign, places in self._fits(self._signs, slots, found):
                if sign not in found and not (denied and self._is_denied(clause, places)):
                    found.add(sign)
                    yield sign

    def _fits(
        self, index: Mapping[Slot, list[_Entry]], slots: Sequence[set[Slot]], skipped: Set[str] = frozenset()
    ) -> Iterator[tuple[str, tuple[int, ...]]]:
        for start, here in enumerate(slots):
            for slot in sorted(here & index.keys()):
                for sign, parts in index[slot]:
                    if sign not in skipped and (places := self._places(parts, start, slots)):
                        yield sign, places

    def _places(self, parts: tuple[Part, ...], start: int, slots: Sequence[set[Slot]]) -> tuple[int, ...]:
        """Return the positions of the words that match the parts in the window at `start`, where one part begins."""
        end = min(start + self._window, len(slots))
        found: list[int] = []
        for part in parts:
            at = next((n for n in range(start, end) if part[0] in slots[n] and _follows(part, n, end, slots)), None)
            if at is None:
                return ()
            found += range(at, at + len(part))
        return tuple(found) if start in found else ()

    def _is_denied(self, clause: Sequence[str], places: Sequence[int]) -> bool:
        """Return whether a negation precedes the match between the same commas, or a denial follows it."""
        for place in _beginnings(clause, places):
            within = _NEGATED_WITHIN
            for before in reversed(clause[:place]):
                if within == 0 or before in _COMMAS:
                    break
                if before in self._negators:
                    return True
                within = _NEGATED_WITHIN if before == "or" else within - 1
        after = clause[max(places) + 1 :]
        return after[:1] in _DENIED_AFTER or clause[-2:] in _ALL_DENIED


def _by_first(entries: Iterable[_Entry]) -> Mapping[Slot, list[_Entry]]:
    found: dict[Slot, list[_Entry]] = defaultdict(list)
    for entry in entries:
        for slot in dict.fromkeys(part[0] for part in entry[1]):
            found[slot].append(entry)
    return dict(found)


def _beginnings(clause: Sequence[str], places: Sequence[int]) -> Iterator[int]:
    before = None
    for place in sorted(places):
        if before is None or _COMMAS.intersection(clause[before:place]):
            yield place
        before = place


def _follows(part: Part, at: int, end: int, slots: Sequence[set[Slot]]) -> bool:
    return at + len(part) <= end and all(slot in slots[at + n] for n, slot in enumerate(part))


def _clauses(text: str) -> Iterator[list[str]]:
    plain = unicodedata.normalize("NFKD", text).casefold()
    plain = re.sub(r"[\u0300-\u036f'\u2019\u2018`\u00b4\u02bc]", "", plain).replace("can not", "cannot")
    yield from filter(None, map(_TOKEN.findall, _CLAUSE_END.split(plain)))
