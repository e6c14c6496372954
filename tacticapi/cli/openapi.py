"""tacticapi openapi: the contract, printed or written."""

from pathlib import Path

import click

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.contract import document, yaml_text
from tacticapi.knowledge import load, our_rules


@click.command()
@click.option("--write", is_flag=True, help="Write openapi/openapi.yaml of this checkout instead of printing.")
def openapi(write: bool) -> None:
    """Print the contract (OpenAPI 3.1) with a recorded example of each moment.

    \b
    Example:
      tacticapi openapi > openapi.yaml
    """
    adviser = Adviser(load([our_rules()]))
    text = yaml_text(document(create_app({"ADVISER": adviser}), adviser))
    if not write:
        click.echo(text, nl=False)
        return
    path = Path(__file__).resolve().parents[2] / "openapi" / "openapi.yaml"
    if not path.parent.is_dir():
        raise click.ClickException("there is no checkout to write to; print it instead")
    path.write_text(text, encoding="utf-8")
    click.echo(f"wrote {path}")
