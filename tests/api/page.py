"""A page as a test reads it."""

from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

from tacticapi.pictures.svg import NAMESPACE

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


def words_of(response: Any) -> str:
    assert response.status_code == 200, response.text
    assert response.mimetype == "image/svg+xml"
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    return ElementTree.fromstring(response.text).findtext(f"{{{NAMESPACE}}}desc") or ""
