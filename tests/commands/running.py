"""The command as people call it: in a process of its own, with a home of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from tests.commands.warm import MOST_SECONDS, Ended, caller, needs_a_start
from tests.rule_book.lamps import MINIMAL

LAMP = ("--rules", str(MINIMAL))
"""Options that take the small invented rule book about a lamp in place of the one that came along."""

_HOME = tempfile.TemporaryDirectory(prefix="diagnose-tests-")
_LEFT_OUT = ("FORCE_COLOR", "COLUMNS", "NO_COLOR", "DIAGNOSE_RULES", "TTY_COMPATIBLE", "TTY_INTERACTIVE")


class Done(NamedTuple):
    """What a command left behind."""

    status: int
    out: str
    err: str


Call = Callable[..., Done]
"""A way to call ``diagnose`` inside this process."""


def environment(**changes: str) -> dict[str, str]:
    """Return an environment in which nothing of the person's own is read or written."""
    kept = {name: value for name, value in os.environ.items() if name not in _LEFT_OUT}
    own = {"DIAGNOSE_CACHE": f"{_HOME.name}/cache", "DIAGNOSE_CASES": f"{_HOME.name}/cases", "PYTHONUTF8": "1"}
    return {**kept, **own, **changes}


def run(*arguments: str | Path, stdin: str | bytes | None = "", cwd: Path | None = None, **changes: str) -> Done:
    """Call ``diagnose`` and wait for it; no call may end in a traceback."""
    given = stdin.encode() if isinstance(stdin, str) else stdin
    words = [str(each) for each in arguments]
    if given is None or needs_a_start(changes):
        done = _started(words, given, cwd, environment(**changes))
    else:
        done = caller().call(words, given, cwd or Path.cwd(), environment(**changes))
    result = Done(done.status, done.out.decode(), done.err.decode())
    assert "Traceback" not in result.err, result.err
    assert "Exception ignored" not in result.err, result.err
    assert "\x1b" not in result.out + result.err
    return result


def _started(words: list[str], given: bytes | None, cwd: Path | None, environment: dict[str, str]) -> Ended:
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *words],
        input=given,
        capture_output=True,
        cwd=cwd,
        env=environment,
        timeout=MOST_SECONDS,
        check=False,
    )
    return Ended(done.returncode, done.stdout, done.stderr)


def shell(line: str, cwd: Path) -> Done:
    """Run one line of a shell, in which ``diagnose`` is the command."""
    script = f'diagnose() {{ "{sys.executable}" -m diagnose "$@"; }}\n{line}\n'
    done = subprocess.run(
        ["bash", "-c", script],
        capture_output=True,
        text=True,
        cwd=cwd,
        env=environment(),
        timeout=MOST_SECONDS,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    assert "Exception ignored" not in done.stderr, done.stderr
    return Done(done.returncode, done.stdout, done.stderr)


def document(done: Done) -> dict[str, Any]:
    """Return the diagnosis document that a command printed."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is no JSON")

    assert (done.status, done.err) == (0, "")
    return json.loads(done.out, parse_constant=refuse)  # type: ignore[no-any-return]
