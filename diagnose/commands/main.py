"""The ``diagnose`` command. Each sub-command is loaded only when it is called."""

from __future__ import annotations

import atexit
import errno
import gc
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from diagnose import __version__
from diagnose.commands.lazy import LazyGroup
from diagnose.errors import DiagnoseError
from diagnose.place import visible

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine

COMMANDS = {
    "triage": "helpdesk",
    "interview": "technician",
    "rules": "trainer",
    "data-sheet": "data_sheets",
    "calc": "calculating",
    "compare": "comparing",
    "trend": "trending",
    "cases": "records",
    "serve": "serving",
    "schema": "schemas",
    "completion": "completion",
}
"""Sub-command → module of this package that holds it."""


@click.group(
    cls=LazyGroup, modules=COMMANDS, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="diagnose")
@click.option(
    "--rules",
    "rules",
    type=click.Path(path_type=Path),
    envvar="DIAGNOSE_RULES",
    help="Folder of your own rule book, in place of the included one.",
)
@click.pass_context
def cli(ctx: click.Context, rules: Path | None) -> None:
    """Find out why an electromagnetic flow meter misbehaves.

    \b
    At the meter:      diagnose interview
    At the helpdesk:   diagnose triage report.txt      (or paste:  diagnose triage -)
    Writing rules:     diagnose rules check my-rules/
    Before a fault:    diagnose data-sheet review meter.yaml
    Expected values:   diagnose calc loop --flow 37.5m3/h --urv 100m3/h
    Readings differ:   diagnose compare readings.csv
    A log:             diagnose trend last_week.csv
    Earlier cases:     diagnose cases list
    On a phone:        diagnose serve

    DIAGNOSE_CASES and DIAGNOSE_CACHE say where interviews and the prepared rule book are kept.

    Exit status: 0 fine, 1 problems found, 2 wrong use, 70 an error of this program, 130 left in the middle
    (everything is saved), 141 nobody reads the output any more.
    """
    ctx.obj = rules


def rules_folder(ctx: click.Context) -> Path:
    """Return the folder of the rule book that was asked for, else the one that came along."""
    from diagnose.shipped import shipped_folder

    return ctx.obj or shipped_folder("rules")


def load(ctx: click.Context) -> Engine:
    """Return the engine of the rule book.

    Raises ProblemsFound when the rule book has problems.
    """
    from diagnose.reasoning.ready import load_engine

    def add(text: str) -> None:
        ctx.call_on_close(lambda: _tell(text))

    return load_engine(rules_folder(ctx), _tell, add)


def _tell(text: str) -> None:
    """Tell somebody who is watching what takes a while; to a file or a pipe go only errors."""
    if sys.stderr is not None and sys.stderr.isatty():
        click.echo(text, err=True)


READER_GONE = 141
"""Status when whoever read the output has gone, as shells have it for a signal of that kind (128 + 13)."""


OUTPUT_FAILED = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EBADF, errno.EINVAL})
"""What a system says of output that it cannot take; whatever else it says is a mistake of this program."""

NAMES_REFUSED = frozenset({errno.EACCES, errno.EPERM, errno.ENAMETOOLONG, errno.ELOOP, errno.ENOTDIR})
"""What a system says of a name that somebody gave."""

SELDOM = 200_000, 10, 100
"""When garbage is looked for, in new objects: those of a rule book are many, and all stay."""


def main() -> None:
    """Run the command; errors in the input are reported in plain words."""
    gc.set_threshold(*SELDOM)
    atexit.register(gc.freeze)  # Python looks for garbage on leaving, which takes as long as reading it
    _speak_utf8()
    try:
        status = cli.main(standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except click.exceptions.Exit as leaving:
        status = leaving.exit_code
    except click.ClickException as error:
        with suppress(OSError):
            error.show()
        status = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        status = 130
    except DiagnoseError as error:
        _complain(_told(error))
        status = error.exit_status
    except (BrokenPipeError, SystemExit):
        # Whoever read our output has gone (click and rich say so by leaving); nothing is left to say, and the
        # interpreter must not try either.
        sys.stdout = None
        status = READER_GONE
    except OSError as error:
        # A full disk, as a rule: what is left in the buffer cannot be written either.
        status = _told_of_system(error)
    except Exception as error:
        status = _unforeseen(error)
    sys.exit(status if isinstance(status, int) else 0)


def _complain(text: str) -> None:
    """Say what is wrong, where anybody can hear it; the exit status stays the same."""
    with suppress(OSError):
        click.echo(text, err=True)


def _told_of_system(error: OSError) -> int:
    """Tell what the system refused, and return the status: output, a file that was named, or a mistake of our own."""
    if error.errno in OUTPUT_FAILED:
        sys.stdout = None
        _complain(f"error: the output cannot be written: {error.strerror or error}")
        return 1
    if error.errno in NAMES_REFUSED and error.filename:
        _complain(visible(f"error: {str(error.filename)[:200]} cannot be used: {error.strerror or error}"))
        return 1
    return _unforeseen(error)


def _unforeseen(error: Exception) -> int:
    from diagnose.commands.unforeseen import told_unforeseen

    return told_unforeseen(error)


def _told(error: DiagnoseError) -> str:
    text = visible(str(error), "\t\n")
    return text if text.startswith("error[") else f"error: {text}"


def _speak_utf8() -> None:
    """Let what a terminal cannot show, or what was typed in no encoding, be replaced rather than fail."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
