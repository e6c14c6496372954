"""tacticapi completion: the script by which a shell completes commands and options."""

import click
from click.shell_completion import get_completion_class

PROGRAM = "tacticapi"
VARIABLE = "_TACTICAPI_COMPLETE"
SHELLS = ("bash", "zsh", "fish")


@click.command()
@click.argument("shell", type=click.Choice(SHELLS))
@click.pass_context
def completion(context: click.Context, shell: str) -> None:
    """Print the script by which SHELL completes commands, options and their words.

    \b
    Examples:
      tacticapi completion bash > ~/.local/share/bash-completion/completions/tacticapi
      tacticapi completion zsh > ~/.zfunc/_tacticapi
      tacticapi completion fish > ~/.config/fish/completions/tacticapi.fish
    """
    completer = get_completion_class(shell)
    assert completer is not None  # SHELLS are among those that click knows
    click.echo(completer(context.find_root().command, {}, PROGRAM, VARIABLE).source(), nl=False)
