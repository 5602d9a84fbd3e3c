"""Findings of an analysis, added to an interview that was left, with the figures that they were read from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import click

from diagnose.observations import Compared, FindingSeen


def add_to_case(
    case: str, seen: Sequence[FindingSeen | Compared], kind: Literal["pairs", "log"], figures: str, note: str
) -> None:
    """Add findings to a case that was left, and keep the figures (CSV) with it; says how many.

    Raises BadInput when there is no such case, or when it cannot be written.
    """
    from diagnose.cases.attached_files import keep_figures
    from diagnose.cases.journal import Journal, case_folder

    with Journal.resume(case_folder(), case) as journal:
        journal.add(journal.new_turn(), *seen, keep_figures(journal, figures, kind, note))
    count = sum(isinstance(each, FindingSeen) for each in seen)
    found = "1 finding" if count == 1 else f"{count} findings"
    click.echo(f"{found} added to the case {case}", err=True)
