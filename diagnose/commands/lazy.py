"""A group of commands whose modules are imported only when one of them is called."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click

from diagnose.place import did_you_mean


class LazyGroup(click.Group):
    """A group with a table: command → module of this package, and after a colon its name there if it is another."""

    def __init__(self, *arguments: Any, modules: Mapping[str, str], what: str = "", **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.modules = modules
        self.what = what

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the table."""
        return list(self.modules)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command; its module is imported now."""
        if cmd_name not in self.modules:
            return None
        module, _, name = self.modules[cmd_name].partition(":")
        found = import_module(f"diagnose.commands.{module}")
        return getattr(found, name or cmd_name.replace("-", "_"))  # type: ignore[no-any-return]

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that is meant; for one that is not there, say which may be."""
        if args and not args[0].startswith("-") and args[0] not in self.modules:
            help = did_you_mean(args[0], self.modules, f"the commands are: {', '.join(self.modules)}")
            raise click.UsageError(f"there is no command `{self.what}{args[0]}`; {help}", ctx)
        return super().resolve_command(ctx, args)
