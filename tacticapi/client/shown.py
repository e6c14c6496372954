"""Advice, pictures and pages as a terminal (plain text of 80 columns) and a notebook show them."""

import re
import textwrap
from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

WIDTH, LABEL = 80, 12
MAX_PROFILE, MAX_REASONS, MAX_UNUSED = 6, 2, 10
_SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)

SIZES = {"large": "a large gain", "some": "some gain", "small": "a small gain", "unclear": "an unclear gain"}


class Picture(str):
    """A picture as SVG text, its description for screen readers included."""

    __slots__ = ()

    def _repr_svg_(self) -> str:
        return str(self)


class Page(str):
    """A whole page as HTML text. It asks for nothing from outside and runs no script."""

    __slots__ = ()

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Return the pictures on the page, such as the chance of the match after each point."""
        return tuple(Picture(found) for found in _SVG.findall(self))

    def _repr_html_(self) -> str:
        frame = 'sandbox title="Debrief" style="width: 100%; height: 640px; border: 1px solid"'
        return f'<iframe {frame} srcdoc="{escape(str(self))}"></iframe>'


class Markdown(str):
    """A text in Markdown."""

    __slots__ = ()

    def _repr_markdown_(self) -> str:
        return str(self)


class Advice(dict[str, Any]):
    """Advice as JSON gives it. Print it for its short form, its `details` for the rest; a notebook shows the same."""

    def __str__(self) -> str:
        return self._shown(self.in_short())

    @property
    def moment(self) -> str:
        """Return the moment as a heading."""
        return str(self["moment"]).replace("-", " ").replace("warm up", "warm-up").capitalize()

    def in_short(self, most: int | None = None) -> str:
        """Return `most` suggestions with two reasons at most, then the plan, the score and the first look."""
        lines = []
        for one in self["suggestions"][:most]:
            because = "; ".join([reason["text"] for reason in one["because"]][:MAX_REASONS])
            because = f"Because {because}." if because else one["why"]
            caution = f"Caution: {one['caution']}" if one.get("caution") else ""
            lines.append(_filled(f"{one['rank']}. {one['say']}", hang=3))
            lines += [_filled(f"   {text}", hang=3) for text in (because, one["stop_when"], caution) if text]
        looks = [_filled(f"Look: {look['how']}.", hang=3) for look in self["look_for"][:1]]
        return "\n".join(filter(None, [*lines, self._plan_and_score(), *looks]))

    @property
    def details(self) -> str:
        """Return every reason, worth, source, belief in shares and change as text."""
        return self._shown(
            *(_suggestion_text(suggestion) for suggestion in self["suggestions"]),
            self._plan_and_score(),
            _listed("Known of the players", map(_estimate_text, self.get("profile", ())[:MAX_PROFILE])),
            _listed("Changed", (change["text"] for change in self["changed"])),
            _listed("Look for next", (f"{look['how']} [{look['what']}]" for look in self["look_for"])),
            _listed(
                "Held back", (f"{one['tactic']} ({one['reason']}): {one['why']}" for one in self.get("held_back", ()))
            ),
            _listed("Not used", (f"{one['what']}: {one['why']}" for one in self.get("unused", ())[:MAX_UNUSED])),
        )

    def _shown(self, *blocks: str) -> str:
        head = f"{self.moment} · rules {self['rulebook']['version']}"
        first = (f"{line['say']} {line.get('caution') or ''}".strip() for line in self["safety"])
        safety = _listed("Safety first", first)
        return "\n\n".join(filter(None, [head, safety, *blocks, _listed("Please note", self["notice"])]))

    def _plan_and_score(self) -> str:
        verdict = self.get("plan") or {}
        plan = ": ".join(filter(None, (verdict.get("verdict"), verdict.get("why"))))
        told = {"Plan": plan, "Score": self.get("score")}
        return "\n".join(_filled(f"{label}: {text}", hang=3) for label, text in told.items() if text)

    def _repr_html_(self) -> str:
        return f'<pre style="white-space: pre-wrap">{escape(str(self))}</pre>'


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
    """Say a quality in shares of a hundred: "backhand errors: 24 in 100 (17 to 32), usual 20; seen 5 of 14"."""
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
