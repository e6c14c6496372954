"""Pages and pictures of the service, which a notebook shows and a program may save as text."""

import re
from html import escape

_SVG = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
HEIGHT_PX = 640


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
        """The pictures on the page, such as the chance of the match after each point."""
        return tuple(Picture(found) for found in _SVG.findall(self))

    def _repr_html_(self) -> str:
        frame = f'sandbox title="Debrief" style="width: 100%; height: {HEIGHT_PX}px; border: 1px solid"'
        return f'<iframe {frame} srcdoc="{escape(str(self))}"></iframe>'


class Markdown(str):
    """A text in Markdown."""

    __slots__ = ()

    def _repr_markdown_(self) -> str:
        return str(self)
