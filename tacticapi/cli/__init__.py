"""Define the command line: one module per subject, imported only for its own commands, so that others start fast."""

import os
import textwrap
from importlib import import_module

import click

from tacticapi import __version__
from tacticapi.settings import MASK, SETTINGS, complaints

CANNOT = 1  # it cannot be done now
FAULTY = 2  # invalid input
DIFFERS = 3  # done, and some advice would differ

MEANINGS = {
    0: "done",
    CANNOT: "it cannot be done now: the rules or the database cannot be used, the club does not exist, "
    "the file already exists, or you answered no when asked",
    FAULTY: "invalid input: an option, a situation, a file to import, an address to listen on",
    DIFFERS: "replay only: done, and some advice would differ",
}
WIDTH = 100


def example(*lines: str) -> str:
    """Format the examples at the end of a command's help."""
    return "\n".join(["\b", "Example:" if len(lines) == 1 else "Examples:", *(f"  {line}" for line in lines)])


@click.command("settings", epilog=example("TACTICAPI_PORT=8080 tacticapi settings"))
def settings() -> None:
    """List every setting (an environment variable) with its value, source and meaning. Secrets are never shown.

    Exit status 1 if a value is invalid or a variable that begins with TACTICAPI_ is unknown.
    """
    for one in SETTINGS:
        text = os.environ.get(one.name)
        value = (MASK if text and one.secret else text or one.default) or "(nothing)"
        click.echo(f"{one.name} = {value}  ({'environment' if text else 'default'})")
        click.echo(textwrap.fill(one.meaning, WIDTH, initial_indent="    ", subsequent_indent="    "))
    found = complaints()
    for complaint in found:
        click.echo(complaint, err=True)
    if found:
        raise SystemExit(1)


STATUSES = "; ".join(f"{status} {meaning}" for status, meaning in MEANINGS.items())
EPILOG = f"{example('tacticapi demo', 'tacticapi serve')}\n\nExit statuses: {STATUSES}."
COMMANDS = {  # module, name in it, help in the list of commands
    "club": ("store", "club", "List or create clubs."),
    "db": ("store", "db", "Upgrade, check or back up the database."),
    "demo": ("suggest", "demo", "Walk through an invented match."),
    "erase": ("store", "erase", "Erase a player for good."),
    "export": ("store", "export_club", "Export a club as JSON Lines."),
    "import": ("store", "import_file", "Import a club from an export."),
    "openapi": ("suggest", "openapi", "Print the contract (OpenAPI 3.1)."),
    "replay": ("store", "replay", "Recompute stored advice with today's rules."),
    "retention": ("store", "retention_group", "Delete data past its retention period."),
    "rules": ("rules", "rules", "Check, explain or extend the rules."),
    "serve": ("serve", "serve", "Serve the API over HTTP."),
    "settings": ("", "settings", "List every setting."),
    "suggest": ("suggest", "suggest", "Advise on a situation."),
    "token": ("store", "token", "Create, list or revoke tokens."),
}


class Commands(click.Group):
    """The command group for COMMANDS; its `commands` contain only names."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return the command with this name; None if it is unknown."""
        if cmd_name not in COMMANDS:
            return None
        module, name, _ = COMMANDS[cmd_name]
        # numpy's threads spin while they wait, and each worker has only one core
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        command = getattr(import_module(f".{module}", __name__), name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][2]) for name in self.list_commands(ctx)])


@click.group(cls=Commands, commands={name: click.Command(name) for name in COMMANDS}, epilog=EPILOG)
@click.version_option(__version__, prog_name="tacticapi")
def main() -> None:
    """Turn observations of an unknown tennis opponent into ranked, explained suggestions."""
