"""Many observations at once: cut into posts that the service takes, and what became of each."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from tacticapi.client.answers.kept import Line, Receipt
from tacticapi.client.answers.reading import read
from tacticapi.client.problems import fault_of

MOST_LINES, MOST_BYTES = 1_000, 500_000  # below the limits of the service: 2,000 lines and 1 MiB


def posts_of(seen: Iterable[Mapping[str, Any]]) -> Iterator[list[dict[str, Any]]]:
    """The observations in posts of bounded size."""
    post: list[dict[str, Any]] = []
    size = 0
    for one in seen:
        body = {name: value for name, value in one.items() if value is not None}
        length = len(json.dumps(body, ensure_ascii=False).encode()) + 1
        if post and (len(post) == MOST_LINES or size + length > MOST_BYTES):
            yield post
            post, size = [], 0
        post.append(body)
        size += length
    if post:
        yield post


def lines_of(items: Iterable[Mapping[str, Any]], posts: Sequence[Mapping[str, Any]], *, before: int) -> Iterator[Line]:
    """Return what became of each line of `posts`; `before` counts the lines of earlier posts."""
    for item in items:
        number = int(item["line"])
        receipt = read(Receipt, item) if "id" in item else None
        if receipt is not None:
            receipt = replace(receipt, noun="observations", posted=posts[number - 1])
        errors = tuple(fault_of(error) for error in item.get("errors", ()))
        yield Line(before + number, receipt, errors)
