"""Whole matches and traps: what must be said in them, what must never be said, and what must be held back."""

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

from tacticapi.domain.advice import Advice

Case = Mapping[str, Any]
FILES = ("matches.yaml", "traps.yaml", "similar_cases.yaml", "blind.yaml")
FIRST_FIVE, WANTED = 5, 3


def cases() -> list[Any]:
    texts = [(Path(__file__).parent / "data" / name).read_text(encoding="utf-8") for name in FILES]
    loaded = [case for text in texts for case in yaml.load(text, yaml.CSafeLoader)]
    assert len({case["name"] for case in loaded}) == len(loaded)
    return [pytest.param(case, id=case["name"]) for case in loaded]


@pytest.mark.parametrize("case", cases())
def test_a_sound_adviser_says(adviser, situation, case):
    advice = adviser.recommend(situation(**case["request"]))
    found = faults(advice, case["expect"])
    assert not found, "\n".join([*found, f"it says {shown(advice)}"])


def faults(advice: Advice, expect: Mapping[str, Any]) -> list[str]:
    return [fault for name, wanted in expect.items() for fault in CHECKS[name](advice, wanted)]


def test_every_trap_names_tactics_traits_and_kinds_of_the_rulebook(rulebook):
    for param in cases():
        expect = param.values[0]["expect"]
        tactics = [*expect.get("first", ()), *expect.get("never", ()), *expect.get("suggested", ())]
        tactics += [*expect.get("held_back", ()), *expect.get("held_back_any", ()), *expect.get("says", ())]
        assert not set(tactics) - set(rulebook.tactics), param.id
        assert not {name.partition("/")[0] for name in expect.get("beliefs", ())} - set(rulebook.traits), param.id
        assert not set(expect.get("looks_any", ())) - set(rulebook.kinds), param.id


def shown(advice: Advice) -> list[str]:
    return [s.tactic for s in advice.suggestions]


def beliefs(advice: Advice, wanted: Mapping[str, tuple[float, float]]) -> Iterator[str]:
    """Bounds by trait (its stronger wing), or by trait/wing."""
    held: dict[str, float] = {}
    for b in advice.beliefs:
        held[f"{b.trait}/{b.wing}"] = b.probability
        held[b.trait] = max(held.get(b.trait, 0.0), b.probability)
    for name, (low, high) in wanted.items():
        if not low <= held[name] <= high:
            yield f"belief {name} is {held[name]:.3f}, not between {low} and {high}"


def max_belief(advice: Advice, highest: float) -> Iterator[str]:
    yield from (f"belief {b.trait} is {b.probability:.3f}" for b in advice.beliefs if b.probability > highest)


def first(advice: Advice, wanted: list[str]) -> Iterator[str]:
    if not shown(advice) or shown(advice)[0] not in wanted:
        yield f"none of {wanted} stands first"


def suggested(advice: Advice, wanted: list[str]) -> Iterator[str]:
    yield from (f"{tactic} is missing" for tactic in wanted if tactic not in shown(advice))


def three_of_first_five(advice: Advice, wanted: list[str]) -> Iterator[str]:
    hits = [tactic for tactic in shown(advice)[:FIRST_FIVE] if tactic in wanted]
    if len(hits) < WANTED:
        yield f"only {hits} of the {WANTED} wanted"


def never(advice: Advice, unwanted: list[str]) -> Iterator[str]:
    yield from (f"{tactic} must not be suggested" for tactic in unwanted if tactic in shown(advice))


def plan(advice: Advice, wanted: str | list[str]) -> Iterator[str]:
    """Yield a fault unless the verdict is the one wanted, or one of those."""
    if advice.plan is None or advice.plan.verdict not in ([wanted] if isinstance(wanted, str) else wanted):
        yield f"the plan is {advice.plan}, not {wanted}"


def held_back(advice: Advice, wanted: Mapping[str, str]) -> Iterator[str]:
    held = {h.tactic: h.reason.value for h in advice.held_back}
    yield from (f"{t} is held back for {held.get(t)}, not {why}" for t, why in wanted.items() if held.get(t) != why)


def held_back_any(advice: Advice, wanted: list[str]) -> Iterator[str]:
    if not {h.tactic for h in advice.held_back} & set(wanted):
        yield f"none of {wanted} is held back"


def looks_any(advice: Advice, wanted: list[str]) -> Iterator[str]:
    looks = [look.what for look in advice.look_for]
    if not set(looks) & set(wanted):
        yield f"the looks {looks} hold none of {wanted}"


def looks_at_least(advice: Advice, least: int) -> Iterator[str]:
    if len(advice.look_for) < least:
        yield f"{len(advice.look_for)} looks, not {least}"


def safety(advice: Advice, wanted: list[str]) -> Iterator[str]:
    said = [line.tactic for line in advice.safety]
    if said != wanted:
        yield f"safety says {said}, not {wanted}"


def alone(advice: Advice, wanted: bool) -> Iterator[str]:
    if (bool(advice.safety) and not advice.suggestions and not advice.beliefs) is not wanted:
        yield "safety does not stand alone" if wanted else "safety stands alone"


def withheld(advice: Advice, wanted: bool) -> Iterator[str]:
    """Neither suggestions nor anything that the advice is made of."""
    said = (advice.suggestions, advice.beliefs, advice.plan, advice.look_for, advice.held_back)
    if any(said) is wanted:
        yield "not all is withheld" if wanted else "all is withheld"


def at_most_tactical(advice: Advice, most: int) -> Iterator[str]:
    tactical = [s.tactic for s in advice.suggestions if s.category not in ("physical", "law-and-conduct")]
    if len(tactical) > most:
        yield f"{len(tactical)} tactical lines: {tactical}"


def targets(advice: Advice, wanted: Mapping[str, Mapping[str, str]]) -> Iterator[str]:
    """Spots by tactic and court; a tactic with no spots gives no target."""
    said = {s.tactic: {t.court: t.spot for t in s.targets} for s in advice.suggestions}
    yield from (f"{t} aims at {said.get(t)}, not {dict(to)}" for t, to in wanted.items() if said.get(t) != to)


def says(advice: Advice, wanted: Mapping[str, str]) -> Iterator[str]:
    """Words in the line of a tactic."""
    lines = {s.tactic: s.say for s in advice.suggestions}
    yield from (f"{t} says {lines.get(t)!r}" for t, words in wanted.items() if words not in lines.get(t, ""))


def notice(advice: Advice, wanted: list[str]) -> Iterator[str]:
    yield from (f"no notice says {words!r}" for words in wanted if not any(words in line for line in advice.notice))


def unused(advice: Advice, wanted: Mapping[str, str]) -> Iterator[str]:
    """Words in the reason why a kind moved nothing."""
    said = {u.what: u.why for u in advice.unused}
    yield from (f"{w} is unused for {said.get(w)!r}" for w, words in wanted.items() if words not in said.get(w, ""))


def score(advice: Advice, words: str) -> Iterator[str]:
    if words not in (advice.score or ""):
        yield f"the score line is {advice.score!r}"


CHECKS: Mapping[str, Callable[[Advice, Any], Iterator[str]]] = {
    check.__name__: check
    for check in (
        beliefs, max_belief, first, suggested, three_of_first_five, never, plan, held_back, held_back_any, looks_any,
        looks_at_least, safety, alone, withheld, at_most_tactical, targets, says, notice, unused, score,
    )
}  # fmt: skip
