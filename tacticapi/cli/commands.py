"""Where each command of tacticapi is. Its module is imported when it is called, so that the others start fast."""

from importlib import import_module
from typing import NamedTuple

import click

from tacticapi import __version__
from tacticapi.cli.statuses import EPILOG


class Place(NamedTuple):
    """Where a command is in this folder, and what the list of commands says of it."""

    module: str
    name: str
    told: str


COMMANDS = {
    "club": Place("tokens", "club", "The clubs that are kept here."),
    "completion": Place("completion", "completion", "Print the script by which a shell completes commands."),
    "db": Place("store", "db", "Look after the database."),
    "demo": Place("suggest", "demo", "Walk through an invented match."),
    "erase": Place("store", "erase", "Erase a player for good."),
    "export": Place("store", "export_club", "Write everything of a club as JSON Lines."),
    "import": Place("store", "import_file", "Read a club from an export."),
    "openapi": Place("openapi", "openapi", "Print the contract (OpenAPI 3.1)."),
    "replay": Place("replay", "replay", "Give stored advice again under today's rules."),
    "retention": Place("store", "retention_group", "How long matches are kept."),
    "rules": Place("rules", "rules", "Look after the rulebook."),
    "serve": Place("serve", "serve", "Serve the API over HTTP."),
    "settings": Place("settings", "settings", "List every setting."),
    "suggest": Place("suggest", "suggest", "Advise on a situation."),
    "token": Place("tokens", "token", "Tokens open one club each."),
}


class Commands(click.Group):
    """The group of COMMANDS; its `commands` hold no more than their names."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of this name, imported now; None where there is none."""
        place = COMMANDS.get(cmd_name)
        if place is None:
            return None
        command = getattr(import_module(f"tacticapi.cli.{place.module}"), place.name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name].told) for name in self.list_commands(ctx)])


@click.group(cls=Commands, commands={name: click.Command(name) for name in COMMANDS}, epilog=EPILOG)
@click.version_option(__version__, prog_name="tacticapi")
def main() -> None:
    """What was seen of an unknown tennis opponent, turned into ranked and explained suggestions.

    \b
    Examples:
      tacticapi demo
      tacticapi suggest seeds_demo/change-of-ends.json
      tacticapi serve
    """
