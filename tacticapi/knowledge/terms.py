"""Evidence as rule files write it ▶ terms with their likelihoods.

A word (slight, weak, moderate, strong) stands for the numbers in rules/defaults.yaml: `kappa` behind a share, the
pair `seen` (chance of a sign if the trait holds, and if not) and the five likelihood ratios of a rating.
"""

from collections.abc import Iterable, Mapping, Sequence
from math import inf, nextafter
from typing import Any

from tacticapi.domain.rules import ObservationKind, Term, TermForm

Chances = tuple[float, float]
Bands = tuple[tuple[str, float, float], ...]


def term(data: Mapping[str, Any], kind: ObservationKind, defaults: Mapping[str, Any]) -> Term:
    """One term. Raises ValueError where its numbers cannot make a table."""
    narrowed: dict[str, Any] = {name: data.get(name) for name in ("wing", "serve", "court", "moves")}
    options = tuple(data.get("options", ()))
    return Term(what=data["what"], word=data["word"], options=options, **narrowed, **_reading(data, kind, defaults))


def _reading(data: Mapping[str, Any], kind: ObservationKind, defaults: Mapping[str, Any]) -> dict[str, Any]:
    word = defaults["words"][data["word"]]
    if "ends" in data:
        return {"form": TermForm.ENDS, "holds": data["ends"]["holds"], "fails": data["ends"]["not"]}
    if "shares" in data:
        kappa = word.get("rare_kappa", word["kappa"]) if data.get("rare") else word["kappa"]
        shares = data["shares"]
        return {"form": TermForm.SHARES, "holds": shares["holds"], "fails": shares["not"], "kappa": float(kappa)}
    if "favourite" in data:
        favourite = defaults["favourite"]
        base = base_shares(kind.options, favourite["base"])
        return {
            "form": TermForm.FAVOURITE,
            "holds": favourite["share"],
            "kappa": float(favourite["total"]),
            "base": base,
        }
    if "amount" in data:
        return {"form": TermForm.TABLE, **_amount_reading(data["amount"], word["seen"])}
    if "ratings" in data:
        table = rating_table(word["ratings"], defaults["rating_middle"], data["ratings"])
    elif "seen" in data:
        table = seen_table(word["seen"], data["seen"])
    else:
        values = data["values"]
        table = value_table(kind.options, values.get("for", ()), values.get("against", ()), word["seen"])
    return {"form": TermForm.TABLE, "table": table}


def rating_table(ratios: Sequence[float], middle: float, side: str) -> dict[str, Chances]:
    """P(rating | trait holds) and P(rating | not) for the ratings "0" to "4"; both columns sum to 1.

    `ratios` are the likelihood ratios r0..r4 from the most speaking-for rating to the most speaking-against; `side`
    says which end speaks for the trait, low or high. The chances if not, q0..q4, follow from three choices:
    q2 = `middle`, q1 = 2 q0 and q3 = 2 q4 (an extreme rating is half as likely as its neighbour). With
    s = (1 - q2) / 3 the first column asks for q0 + q4 = s and the second for
    q0 (r0 + 2 r1) + q2 r2 + q4 (r4 + 2 r3) = 1, hence
    q0 = (1 - q2 r2 - s (r4 + 2 r3)) / ((r0 + 2 r1) - (r4 + 2 r3)).
    Raises ValueError where no positive chances solve this.
    """
    r0, r1, r2, r3, r4 = ratios
    both, above, below = (1 - middle) / 3, r0 + 2 * r1, r4 + 2 * r3
    first = (1 - middle * r2 - both * below) / (above - below) if above > below else -1.0
    if not 0 < first < both:
        raise ValueError("ratios that leave room for both columns to sum to 1")
    fails = (first, 2 * first, middle, 2 * (both - first), both - first)
    levels = range(5) if side == "low" else range(4, -1, -1)
    return {str(level): (q * r, q) for level, q, r in zip(levels, fails, ratios, strict=True)}


def seen_table(pair: Sequence[float], side: str) -> dict[str, Chances]:
    """The table of a sign that is seen or not; `side` says whether seeing it speaks for or against."""
    holds, fails = pair if side == "for" else reversed(pair)
    return {"seen": (holds, fails), "not-seen": (1 - holds, 1 - fails)}


def group_masses(pair: Sequence[float], *, has_for: bool, has_against: bool, has_rest: bool) -> tuple[Chances, ...]:
    """Chances of the groups for, against and rest if the trait holds and if not; both columns sum to 1.

    The group that speaks for takes the word's pair, the group that speaks against the same pair mirrored, and the
    rest what is left: as likely either way where both groups are there. With no rest, both groups share all.
    """
    holds, fails = pair
    if not has_rest:
        holds, fails = holds / (holds + fails), fails / (holds + fails)
    told_for = (holds, fails) if has_for else (0.0, 0.0)
    told_against = (fails, holds) if has_against else (0.0, 0.0)
    rest = (1 - told_for[0] - told_against[0], 1 - told_for[1] - told_against[1])
    return told_for, told_against, rest if has_rest else (0.0, 0.0)


def value_table(
    options: Sequence[str], told_for: Iterable[str], told_against: Iterable[str], pair: Sequence[float]
) -> dict[str, Chances]:
    """The table over all options of a kind; each group's chance is split evenly among its options."""
    speak_for, speak_against = tuple(told_for), tuple(told_against)
    rest = tuple(option for option in options if option not in speak_for and option not in speak_against)
    groups = (speak_for, speak_against, rest)
    masses = group_masses(pair, has_for=bool(speak_for), has_against=bool(speak_against), has_rest=bool(rest))
    chances = {
        option: (mass[0] / len(group), mass[1] / len(group))
        for group, mass in zip(groups, masses, strict=True)
        for option in group
    }
    return {option: chances[option] for option in options if option in chances}


def amount_bands(amount: Mapping[str, Mapping[str, float]]) -> Bands:
    """The bands (name, low, high) of an amount, low inside and high outside the band; the first that fits counts.

    `at_most` includes its bound, so the band ends just above it. Raises ValueError where for and against overlap
    or point the same way.
    """
    told_for, told_against = amount["for"], amount.get("against")
    bands = [_band("for", told_for)]
    if told_against is None:
        return (*bands, ("rest", -inf, inf))
    bands.append(_band("against", told_against))
    lower, upper = sorted(bands, key=lambda band: band[1])
    if told_for.keys() == told_against.keys() or lower[2] > upper[1]:
        raise ValueError("bounds for and against that look opposite ways and stand apart")
    return (*bands, ("rest", -inf, inf))


def _band(name: str, edge: Mapping[str, float]) -> tuple[str, float, float]:
    if "at_least" in edge:
        return name, float(edge["at_least"]), inf
    return name, -inf, nextafter(float(edge["at_most"]), inf)


def _amount_reading(amount: Mapping[str, Any], pair: Sequence[float]) -> dict[str, Any]:
    masses = group_masses(pair, has_for=True, has_against="against" in amount, has_rest=True)
    table, bands = dict(zip(("for", "against", "rest"), masses, strict=True)), amount_bands(amount)
    return {"table": {name: table[name] for name, _, _ in bands}, "bands": bands}


def base_shares(options: Sequence[str], base: Mapping[str, float]) -> tuple[float, ...]:
    """Shares of the options where there is no favourite: as `base` has them, else all alike."""
    known = [float(base.get(option, 0.0)) for option in options]
    if not all(known):
        return tuple(1 / len(options) for _ in options)
    return tuple(share / sum(known) for share in known)
