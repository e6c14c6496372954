"""How far long work has come: a bar on standard error, and nothing at all where that is no terminal."""

import sys
from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import TypeVar

import click

Item = TypeVar("Item")


def progress_over(items: Iterable[Item], length: int, label: str) -> AbstractContextManager[Iterable[Item]]:
    """The items, shown as they are taken; `length` is how many there are."""
    return click.progressbar(items, length=length, label=label, file=sys.stderr, hidden=not sys.stderr.isatty())
