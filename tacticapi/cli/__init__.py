"""The command line: a module a subject, gathered in `commands`.

Not here: what a command does: it calls service, advice or rulebook, and prints.
Next: `commands` (where all are listed), then the module of the subject.
"""

from tacticapi.cli.commands import main

__all__ = ["main"]
