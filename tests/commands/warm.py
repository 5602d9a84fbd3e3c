"""Calls of the command, each in a process of its own that finds the program's modules loaded already.

A process that has read them waits for calls and splits itself for each; loading takes longer than most of the tests.
Run by itself (``python -m tests.commands.warm``) it reads calls as JSON lines and writes how each ended.
"""

from __future__ import annotations

import atexit
import importlib
import io
import json
import os
import pkgutil
import runpy
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

MOST_SECONDS = 600
"""After which a call that does not end is ended."""

LOADED = ("diagnose.commands", "diagnose.triage", "diagnose.documents", "diagnose.protocol", "diagnose.interview")
"""Packages whose modules are loaded before the first call."""

OF_THE_START = ("PYTHON", "LC_", "LANG", "TZ")
"""Variables of the environment that Python reads only when it starts: such a call needs a start of its own."""


class Ended(NamedTuple):
    """How a call ended, and what it wrote."""

    status: int
    out: bytes
    err: bytes


class Caller:
    """The other end: keeps the waiting process, and passes calls to it."""

    def __init__(self) -> None:
        """Start the process that waits; it ends with this one."""
        self.waiting = subprocess.Popen(
            [sys.executable, "-m", "tests.commands.warm"], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )
        self.asked, self.ended = self.waiting.stdin, self.waiting.stdout
        atexit.register(self.end)

    def call(self, arguments: list[str], given: bytes, folder: Path, environment: dict[str, str]) -> Ended:
        """Let ``diagnose`` be called, and return how it ended."""
        assert self.asked is not None
        assert self.ended is not None
        with tempfile.TemporaryDirectory(prefix="diagnose-call-") as kept:
            files = {name: os.path.join(kept, name) for name in ("given", "out", "err")}
            Path(files["given"]).write_bytes(given)
            asked = {"arguments": arguments, "folder": str(folder), "environment": environment, "files": files}
            self.asked.write(json.dumps(asked).encode() + b"\n")
            self.asked.flush()
            status = int(self.ended.readline())
            return Ended(status, Path(files["out"]).read_bytes(), Path(files["err"]).read_bytes())

    def end(self) -> None:
        """Let the waiting process end."""
        assert self.asked is not None
        assert self.ended is not None
        self.asked.close()
        self.waiting.wait()
        self.ended.close()


@cache
def caller() -> Caller:
    """Return the one caller of this process."""
    return Caller()


def needs_a_start(changes: dict[str, str]) -> bool:
    """Tell whether a call with these changes of the environment needs a start of Python of its own."""
    return any(name.startswith(OF_THE_START) for name in changes)


def _load() -> None:
    for name in LOADED:
        package = importlib.import_module(name)
        for module in pkgutil.iter_modules(package.__path__, f"{name}."):
            importlib.import_module(module.name)


def _calls() -> Iterator[dict[str, Any]]:
    for line in sys.stdin:
        yield json.loads(line)


def _become(asked: dict[str, Any]) -> None:
    """Turn this process into one that was started for a call."""
    signal.alarm(MOST_SECONDS)
    os.chdir(asked["folder"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    given, out, err = (asked["files"][name] for name in ("given", "out", "err"))
    os.dup2(os.open(given, os.O_RDONLY), 0)
    os.dup2(os.open(out, os.O_WRONLY | os.O_CREAT), 1)
    os.dup2(os.open(err, os.O_WRONLY | os.O_CREAT), 2)
    sys.stdin = _text(io.BufferedReader(io.FileIO(0, "r", closefd=False)), "surrogateescape")
    sys.stdout = _text(io.BufferedWriter(io.FileIO(1, "w", closefd=False)), "surrogateescape")
    sys.stderr = _text(io.BufferedWriter(io.FileIO(2, "w", closefd=False)), "backslashreplace")
    sys.argv = ["diagnose", *asked["arguments"]]


def _text(raw: io.BufferedReader | io.BufferedWriter, errors: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(raw, encoding="utf-8", errors=errors, line_buffering=errors == "backslashreplace")


def main() -> None:
    """Wait for calls; only a process that was split off for one comes past the loop."""
    _load()
    for asked in _calls():
        child = os.fork()
        if not child:
            _become(asked)
            break
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
    else:
        return
    runpy.run_module("diagnose", run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
