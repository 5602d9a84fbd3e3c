"""Options that several commands share, and many options of one command as a table."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import click

Command: TypeAlias = Callable[..., None]

FORMAT = click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
DIAGNOSIS_FORMAT = click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "markdown"]),
    default="text",
    show_default=True,
    help="How to print the diagnosis. `diagnose schema diagnosis` describes the JSON.",
)
PLOT = click.option("--plot", type=click.Path(path_type=Path), help="Draw a picture into this file (PNG, SVG or PDF).")
CASE = click.option("--case", "case", metavar="CASE", help="Add the findings to an interview, by its name or file.")
DATA_SHEET = click.option(
    "--data-sheet", type=click.Path(path_type=Path), help="YAML file with what is known of the meter (range, supply …)."
)


class _Share(click.FloatRange):
    """A figure from 0 to 1; what is no figure (``nan``) lies nowhere, and click would let it pass."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        share = super().convert(value, param, ctx)
        if math.isnan(share):
            self.fail(f"{value!r} is not a figure.", param, ctx)
        return share


SHARE = _Share(0, 1)


def with_options(kinds: dict[str, dict[str, Any]]) -> Callable[[Command], Command]:
    """Return a decorator that gives a command these options, in this order: name → what the option is like."""

    def decorated(command: Command) -> Command:
        for name, how in reversed(kinds.items()):
            command = click.option(name, **how)(command)
        return command

    return decorated
