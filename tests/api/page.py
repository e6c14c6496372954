"""A page as a test reads it."""

from html.parser import HTMLParser


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
