"""Show advice, pictures and pages in a terminal (plain text, 80 columns) or a notebook."""

import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from itertools import count, islice
from typing import Any, Self

WIDTH, LABEL = 80, 12
MAX_PROFILE, MAX_REASONS, MAX_UNUSED = 6, 2, 10
MAX_LINE, MAX_WORDS, MAX_BETWEEN_POINTS = 45, 90, 25
Part = tuple[str, int]
"""The kind of a part and its index within that kind; safety parts have indices below 0."""
NEEDED: Sequence[Part] = [("say", 0), ("because", 0), ("stop", 0), ("plan", 0), ("score", 0), ("look", 0)]
NEEDED_BETWEEN_POINTS: Sequence[Part] = [("say", 0), ("because", 0), ("score", 0), ("plan", 0), ("stop", 0)]
LATER = {"say": 1, "because": 1, "stop": 2, "look": 3, "second": 4}
SVG, HTML = "image/svg+xml", "text/html"
FRAME = 'sandbox title="Debrief" style="width: 100%; height: 640px; border: 1px solid"'
_SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)

SIZES = {"large": "a large gain", "some": "some gain", "small": "a small gain", "unclear": "an unclear gain"}


class Text(str):
    """A string that a notebook displays by its media type: a picture as SVG, Markdown, or a complete HTML page.

    Pictures have a description for screen readers. Pages load nothing from elsewhere and run no scripts.
    """

    type: str

    def __new__(cls, text: str, type: str) -> Self:
        """Return a string with this media type."""
        made = super().__new__(cls, text)
        made.type = type
        return made

    @property
    def pictures(self) -> tuple[Self, ...]:
        """Return the pictures on the page, such as the chance of winning the match after each point."""
        return tuple(type(self)(found, SVG) for found in _SVG.findall(self))

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, str]:
        frame = f'<iframe {FRAME} srcdoc="{escape(str(self))}"></iframe>'
        return {self.type: frame if self.type == HTML else str(self)}


class Advice(dict[str, Any]):
    """Advice as parsed from JSON. Printed or shown in a notebook, it is in short form; `details` has the rest."""

    def __str__(self) -> str:
        return self._shown(self.in_short())

    @property
    def moment(self) -> str:
        """Return the moment as a heading."""
        return str(self["moment"]).replace("-", " ").replace("warm up", "warm-up").capitalize()

    @property
    def short(self) -> dict[Part, str]:
        """Return the parts that can be heard in the time available: at most 90 words, or 25 between points.

        Drop second reasons first, then looks after the first (between points, all looks), then `stop_when`, then
        further suggestions. Never cut the first `say`. Safety parts are neither cut nor counted.
        """
        between, plan = self["moment"] == "between-points", self.get("plan") or {}
        counted = any(map(str.isdigit, plan.get("why", "")))  # a reason without a count adds nothing to a suggestion
        score = (self.get("score") or "").partition("," if between else ";")[0]  # players see who serves and where
        parts = {("plan", 0): plan["why"] if counted or (plan and not self["suggestions"]) else "", ("score", 0): score}
        for place, one in self._placed():
            reasons = zip(("because", "second"), _reasons(one, plan.get("tactic")), strict=False)
            parts |= {(kind, place): text for kind, text in (("say", one["say"]), *reasons, ("stop", one["stop_when"]))}
        looks = dict.fromkeys(look["how"] for look in self["look_for"])
        parts |= {("look", place): how for place, how in enumerate(looks)}
        limits = (NEEDED_BETWEEN_POINTS, MAX_BETWEEN_POINTS) if between else (NEEDED, MAX_WORDS)
        return {part: text for part, text in _kept(parts, *limits).items() if text}

    def in_short(self, most: int | None = None) -> str:
        """Return all safety lines, then at most `most` suggestions, the plan, the score and the looks in short form."""
        kept, plan, over = self.short, self.get("plan") or {}, self["moment"] == "after-match"
        lines = [self._safety]
        heard = ((place, one) for place, one in self._placed() if ("say", place) in kept)
        for number, (place, one) in enumerate(islice(heard, most), start=1):
            because = "; ".join(kept[kind, place] for kind in ("because", "second") if (kind, place) in kept)
            because = f"Because {because}." if because and not because.endswith(".") else because  # else a sentence
            caution = f"Caution: {one['caution']}" if one.get("caution") else ""
            lines.append(_filled(f"{number}. {one['say']}", hang=3))
            lines += [_filled(f"   {text}", hang=3) for text in (because, kept.get(("stop", place)), caution) if text]
        why = kept.get(("plan", 0), "")
        told = ["" if over else plan.get("verdict", "keep"), f"{why[:1].upper()}{why[1:]}"]
        rest = {"Plan": ". ".join(filter(None, told)) if why or plan.get("verdict", "keep") != "keep" else ""}
        rest["Score"] = kept.get(("score", 0), "")
        lines += [_filled(f"{label}: {text}.", hang=3) for label, text in rest.items() if text]
        asked = {look["how"]: look["asks"].partition("?")[0] for look in reversed(self["look_for"])} if not most else {}
        looks = (_look_text(asked.get(text, ""), text) for (kind, _), text in kept.items() if kind == "look")
        return "\n".join(
            filter(None, [*lines, *(_filled(f"{'Next time' if over else 'Look'}: {how}.", 3) for how in looks)])
        )

    def _placed(self) -> Iterator[tuple[int, Mapping[str, Any]]]:
        """Yield each suggestion that no safety line repeats, with its index."""
        playing, safe, told = count(), count(-1, -1), {line["tactic"] for line in self["safety"]}
        for one in self["suggestions"]:
            if one["tactic"] not in told:
                yield next(safe if one.get("safety") else playing), one

    @property
    def _safety(self) -> str:
        return _listed(
            "Safety first", (f"{line['say']} {line.get('caution') or ''}".strip() for line in self["safety"])
        )

    @property
    def details(self) -> str:
        """Return all reasons, worths, sources, beliefs (as shares) and changes as text."""
        plan = self.get("plan") or {}
        told = {"Plan": ": ".join(filter(None, (plan.get("verdict"), plan.get("why")))), "Score": self.get("score")}
        looks = (f"{look['how']} [{look['what']}]" for look in self["look_for"])
        held_back = (f"{one['tactic']} ({one['reason']}): {one['why']}" for one in self.get("held_back", ()))
        unused = (f"{one['what']}: {one['why']}" for one in self.get("unused", ())[:MAX_UNUSED])
        return self._shown(
            self._safety,
            *(_suggestion_text(suggestion) for suggestion in self["suggestions"]),
            "\n".join(_filled(f"{label}: {text}", hang=3) for label, text in told.items() if text),
            _listed("What is known about the players", map(_estimate_text, self.get("profile", ())[:MAX_PROFILE])),
            _listed("Changed", (change["text"] for change in self["changed"])),
            _listed("Look for next", looks),
            _listed("Held back", held_back),
            _listed("Not used", unused),
        )

    def _shown(self, *blocks: str) -> str:
        head = f"{self.moment} · rules {self['rulebook']['version']}"
        return "\n\n".join(filter(None, [head, *blocks, _listed("Please note", self["notice"])]))

    def _repr_html_(self) -> str:
        return f'<pre style="white-space: pre-wrap">{escape(str(self))}</pre>'


def _reasons(one: Mapping[str, Any], plan: str | None) -> list[str]:
    """Return at most two reasons for the line, without the plan's tries, which the plan itself shows."""
    reasons: list[str] = []
    told = (r["text"] for r in one["because"] if r.get("what") != "tries" or one["tactic"] != plan)
    for text in [*told] or [one["why"]]:
        if len(reasons) < MAX_REASONS and _words(one["say"], one["stop_when"], *reasons, text) <= MAX_LINE:
            reasons.append(text)
    return reasons


def _kept(parts: Mapping[Part, str], needed: Sequence[Part], room: int) -> dict[Part, str]:
    """Return all safety parts, every required part that fits, then other parts up to the first that does not fit."""

    def rank(part: Part) -> tuple[int, int]:
        kind, place = part
        if place < 0:
            return -1, place
        return (0, needed.index(part)) if part in needed else (LATER[kind], place)

    order = sorted(parts, key=rank)
    kept, whole = {part: parts[part] for part in order if part[1] < 0}, True
    for part in order[len(kept) :]:
        words = _words(parts[part])
        whole = whole and words <= room
        if part == ("say", 0) or (words <= room and (whole or part in needed)):
            kept[part] = parts[part]
            room -= words
    return kept


def _words(*texts: str) -> int:
    return sum(len(text.split()) for text in texts)


def _look_text(question: str, how: str) -> str:
    return how if how.startswith(question) else f"{question}? {how[:1].upper()}{how[1:]}"


def _suggestion_text(suggestion: Mapping[str, Any]) -> str:
    targets = (f"{one['court']} court {one['spot']} (their {one['wing']})" for one in suggestion["targets"])
    cited = ((source.get("citation"), source["status"]) for source in suggestion["sources"])
    rows = {
        "Say": suggestion["say"],
        "Because": "; ".join(reason["text"] for reason in suggestion["because"]) or suggestion["why"],
        "Targets": ", ".join(targets),
        "Worth": _worth(suggestion.get("worth")),
        "Not if": suggestion["not_if"],
        "Look again": suggestion["stop_when"].removeprefix("Look again "),
        "Caution": suggestion.get("caution"),
        "Source": "; ".join(f"{citation} [{status}]" if citation else status for citation, status in cited),
    }
    head = _filled(f"{suggestion['rank']}. {suggestion['title']}", hang=3)
    lines = (_filled(f"   {label:<{LABEL}}{text}", hang=3 + LABEL) for label, text in rows.items() if text)
    return "\n".join([head, *lines])


def _estimate_text(one: Mapping[str, Any]) -> str:
    """Describe a quality as shares of a hundred: "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"."""
    wing = f" ({one['wing']})" if one.get("wing") and one["wing"] not in one["says"] else ""
    estimate, low, high, usual = (f"{100 * one[name]:.0f}" for name in ("estimate", "low", "high", "usual"))
    seen = f"; seen {one['seen']['count']:g} of {one['seen']['of']:g}" if one["seen"]["of"] else ""
    return f"{one['says']}{wing}: {estimate} in 100 ({low} to {high}), usual {usual}{seen}"


def _worth(worth: Mapping[str, Any] | None) -> str:
    if worth is None:
        return ""
    tenths = round(10 * worth["pays_in"])
    such = f"{tenths} in 10" if tenths < 10 else "more than 9 in 10"
    return f"{SIZES[worth['size']]}; it pays against {such} such players"


def _listed(title: str, lines: Iterable[str]) -> str:
    items = [_filled(f"  - {line}", hang=4) for line in lines]
    return "\n".join([title, *items]) if items else ""


def _filled(text: str, hang: int = 0) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=" " * hang, break_on_hyphens=False)
