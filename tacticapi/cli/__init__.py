"""The command line: a module a subject, gathered in `commands`."""

from tacticapi.cli.commands import main

__all__ = ["main"]
