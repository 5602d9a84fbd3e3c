"""``diagnose cases``: interviews kept here, listed, found, closed and passed on; recorded cases, replayed."""

from __future__ import annotations

import click

from diagnose.commands.lazy import LazyGroup

COMMANDS = {
    "list": "case_lists:list_cases",
    "search": "case_lists",
    "show": "case_showing",
    "resume": "case_showing",
    "close": "case_closing",
    "reopen": "case_closing",
    "report": "case_reports",
    "export": "case_exchange:export_cases",
    "import": "case_exchange:import_cases",
    "learn": "learning",
    "statistics": "learning",
    "replay": "case_replay",
}
"""Command → module of this package that holds it, and its name there where that is another."""


@click.group(cls=LazyGroup, modules=COMMANDS, what="cases ")
def cases() -> None:
    """List, find, show, report, close and pass on the interviews kept here; replay recorded cases.

    \b
    diagnose cases list --state open
    diagnose cases search coating
    diagnose cases show 20260301-101500
    diagnose cases close 20260301-101500 --cause electrodes-coated --minutes 40
    diagnose cases report 20260301-101500 --output fault.html
    diagnose cases statistics
    diagnose cases learn
    diagnose cases replay

    A case is kept in a file of its own (its journal) from the first answer on. DIAGNOSE_CASES says in which folder.
    """
