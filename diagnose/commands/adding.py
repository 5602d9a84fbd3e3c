"""Findings of an analysis, added to an interview that was left."""

from __future__ import annotations

from collections.abc import Sequence

import click

from diagnose.observations import Compared, FindingSeen


def add_to_case(case: str, seen: Sequence[FindingSeen | Compared]) -> None:
    """Add findings, with the figures behind them, to a case that was left; says how many.

    Raises BadInput when there is no such case.
    """
    from diagnose.cases.journal import Journal, case_folder

    with Journal.resume(case_folder(), case) as journal:
        if seen:
            journal.add(journal.new_turn(), *seen)
    count = sum(isinstance(each, FindingSeen) for each in seen)
    found = "1 finding" if count == 1 else f"{count} findings"
    click.echo(f"{found} added to the case {case}", err=True)
