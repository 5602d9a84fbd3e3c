"""``diagnose completion``: what a shell needs to complete commands and options."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from diagnose.errors import WrongUse


@click.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Print what your shell needs to complete commands and options.

    \b
    bash:  diagnose completion bash >> ~/.bashrc
    zsh:   diagnose completion zsh  >> ~/.zshrc
    fish:  diagnose completion fish > ~/.config/fish/completions/diagnose.fish
    """
    kind = get_completion_class(shell)
    if kind is None:
        raise WrongUse(f"there is no completion for {shell}")
    root = ctx.find_root()
    click.echo(kind(root.command, {}, "diagnose", "_DIAGNOSE_COMPLETE").source())
