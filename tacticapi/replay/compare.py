"""Two pieces of advice on one situation ▶ what differs in words, with what moved it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from tacticapi.domain.rulebook import Rulebook

Advised = Mapping[str, Any]  # advice as it is kept
WhyNot = Callable[[str], str]

SMALLEST_MOVE = 0.005  # of a probability that is told with two digits
MOVES_TOLD = 3
NOT_COMPARED = frozenset({"version", "digest"})  # they say which rules answered, not what


def differences(
    then: Advised, fired: Sequence[Mapping[str, Any]], now: Advised, why_not: WhyNot, rulebook: Rulebook
) -> tuple[str, ...]:
    """What differs, the weightiest first; nothing where both say the same.

    `fired` are the rules that fired then; `why_not` says of a tactic why today's rules do not suggest it here.
    """
    if not any(then.get(name) != now[name] for name in now.keys() - NOT_COMPARED):
        return ()
    told = [
        *_lines("safety", then, now, lambda tactic: "by today's rules"),
        *_lines("suggestions", then, now, why_not),
        *_new(then, fired, now),
        *_order(then, now),
        *_plan(then, now),
    ]
    moved = list(_beliefs(then, now, rulebook))
    if told:
        return (*told, *moved)
    named = ", ".join(sorted(name for name in now.keys() - NOT_COMPARED if then.get(name) != now[name]))
    return (f"the same advice; other words or figures in {named}", *moved)


def _lines(where: str, then: Advised, now: Advised, why_not: WhyNot) -> Iterator[str]:
    """What was said then and is not said now, and safety that is new."""
    shown = {line["tactic"] for line in now[where]}
    for line in then[where]:
        if line["tactic"] not in shown:
            yield f"{line['tactic']} is no longer {_said(where)}: {why_not(line['tactic'])}"
    if where == "safety":
        known = {line["tactic"] for line in then[where]}
        yield from (f"{t} is now said as safety" for line in now[where] if (t := line["tactic"]) not in known)


def _said(where: str) -> str:
    return "said as safety" if where == "safety" else "suggested"


def _new(then: Advised, fired: Sequence[Mapping[str, Any]], now: Advised) -> Iterator[str]:
    """What is suggested now and was not then, with what became of it then."""
    known, held = {line["tactic"] for line in then["suggestions"]}, {h["tactic"]: h for h in then["held_back"]}
    for line in now["suggestions"]:
        tactic = line["tactic"]
        if tactic in known:
            continue
        if tactic in held:
            before = f"it was held back ({held[tactic]['reason']}): {held[tactic]['why']}"
        elif any(match["rule"].startswith(f"tactic/{tactic}/") for match in fired):
            before = "its conditions held, but other tactics took the places"
        else:
            before = "no rule of it fired"
        yield f"{tactic} is now suggested, as number {line['rank']}; then {before}"


def _order(then: Advised, now: Advised) -> Iterator[str]:
    before, after = ([line["tactic"] for line in each["suggestions"]] for each in (then, now))
    if sorted(before) == sorted(after) and before != after:
        yield f"another order: {', '.join(after)}; then {', '.join(before)}"


def _plan(then: Advised, now: Advised) -> Iterator[str]:
    if then["plan"] != now["plan"]:
        yield f"the plan is {now['plan'] or 'not told'}, then {then['plan'] or 'not told'}: {now['plan_why'] or '-'}"


def _beliefs(then: Advised, now: Advised, rulebook: Rulebook) -> Iterator[str]:
    """The beliefs that moved furthest."""
    before = {(one["trait"], one["wing"]): one["probability"] for one in then["beliefs"]}
    after = {(one["trait"], one["wing"]): one["probability"] for one in now["beliefs"]}
    moves = [(abs(after[key] - before[key]), key) for key in after.keys() & before.keys()]
    shown = sorted((-size, key[0], key[1] or "") for size, key in moves if size >= SMALLEST_MOVE)
    for _, trait, wing in shown[:MOVES_TOLD]:
        key = (trait, wing or None)
        name = rulebook.traits[trait].title.lower() + (f" ({wing})" if wing else "")
        yield f"belief: {name} {after[key]:.2f}, then {before[key]:.2f}"
