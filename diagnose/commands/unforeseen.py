"""An error of our own: one short report, with the details in a file, and an exit status that nothing else has."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from contextlib import suppress
from datetime import UTC, datetime

import click

from diagnose import __version__
from diagnose.place import visible

STATUS = 70
"""EX_SOFTWARE of sysexits.h (from memory): an error of the program, not of what was typed."""


def told_unforeseen(error: Exception) -> int:
    """Report an error that nobody foresaw, and return the exit status."""
    said = visible(f"{type(error).__name__}: {error}".splitlines()[0][:200])
    where = _written(error)
    lines = [
        f"error: this program made a mistake ({said})",
        f"  while running: {_what_was_run()}",
        f"  version: {__version__}, Python {platform.python_version()}",
        f"  details: {where}" if where else "  details could not be written to a file; they follow",
        "  Please send that to whoever looks after this program for you. What was answered before is saved.",
    ]
    with suppress(OSError):  # nobody can be told where even that cannot be written
        click.echo("\n".join(lines), err=True)
        if not where:
            traceback.print_exception(error)
    return STATUS


def _what_was_run() -> str:
    """Return the command and its options; not what they hold, which may be somebody's words."""
    words = [word.split("=")[0] for word in sys.argv[1:] if word.startswith("-") or word.replace("-", "").isalpha()]
    return " ".join(["diagnose", *words[:12]])


def _written(error: Exception) -> str:
    """Return the file that the details were written to, readable by this user alone; nothing where none could be."""
    head = (
        f"{datetime.now(UTC).isoformat(timespec='seconds')} {_what_was_run()}\n{__version__} {platform.platform()}\n\n"
    )
    try:
        handle, path = tempfile.mkstemp(prefix="diagnose-error-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="replace") as file:
            file.write(head + "".join(traceback.format_exception(error)))
    except OSError:
        return ""
    return path
