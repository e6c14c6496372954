"""tacticapi settings: every setting, its value, where it comes from, and what it means."""

import textwrap

import click

from tacticapi.settings import complaints, told

WIDTH = 100


@click.command("settings")
def settings() -> None:
    """List every setting with its value, where it comes from, and what it means.

    Settings are environment variables. Secrets are never shown. Ends with status 1 where a variable that begins with
    TACTICAPI_ is none of them, or where a value cannot be.

    \b
    Example:
      TACTICAPI_PORT=8080 tacticapi settings
    """
    for line in told():
        click.echo(f"{line.name} = {line.value}  ({line.source})")
        click.echo(textwrap.fill(line.meaning, WIDTH, initial_indent="    ", subsequent_indent="    "))
    found = complaints()
    for complaint in found:
        click.echo(complaint, err=True)
    if found:
        raise SystemExit(1)
