"""A page as a test reads it."""

from html.parser import HTMLParser
from typing import Any

ACTIVE = {"script", "link", "img", "iframe", "object", "base", "form"}


def harmless(response: Any) -> "Page":
    """The page that an answer holds; fails if it runs something or asks for something outside."""
    page = Page(response.text)
    assert not {tag for tag, _ in page.tags} & ACTIVE
    assert not [name for _, held in page.tags for name in held if name in ("src", "href", "srcset", "style")]
    assert not [word for word in ("url(", "@import") if word in response.text]
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    return page


class Page(HTMLParser):
    """What a page holds: tags with their attributes, and the text with single spaces."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.said = ""
        self.feed(text)
        self.said = " ".join(self.said.split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.said += data
