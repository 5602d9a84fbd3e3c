"""An interview as a process of its own: lines go in through a pipe, screens come out of another."""

from __future__ import annotations

import os
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress

CURSOR = b"> "
"""Every question ends with it, and nothing is put out after it before the next line came."""

LONGEST_WAIT = 300.0
"""Seconds. A question that takes longer counts as a hang."""


class Child:
    """``diagnose interview`` with some options; what it has put out since the last line is ``screen``."""

    def __init__(self, arguments: Sequence[str], environment: Mapping[str, str]) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "diagnose", *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**environment, "COLUMNS": "80"},
        )
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        assert self.process.stderr is not None
        self._in, self._out, self._err = self.process.stdin, self.process.stdout, self.process.stderr
        self.screen = b""

    def type(self, line: str) -> None:
        """Send one line; the screen begins anew."""
        self.screen = b""
        self._in.write(line.encode() + b"\n")
        self._in.flush()

    def asked(self, within: float = LONGEST_WAIT) -> bool:
        """Read until a question is on the screen; tell whether one came before time or output ended."""
        ends = time.monotonic() + within
        with selectors.DefaultSelector() as selector:
            selector.register(self._out, selectors.EVENT_READ)
            while not self.screen.endswith(CURSOR):
                if not selector.select(max(0.0, ends - time.monotonic())):
                    return False
                read = os.read(self._out.fileno(), 65536)
                if not read:
                    return False
                self.screen += read
        return True

    def kill(self) -> None:
        """End it as a power switch would, and take what it had put out until then."""
        self.process.send_signal(signal.SIGKILL)
        self._end()

    def leave(self) -> tuple[int, str]:
        """Close its input; return exit status and what it said of errors."""
        self._in.close()
        return self._end()

    def _end(self) -> tuple[int, str]:
        self.screen += self._out.read()
        said = self._err.read().decode(errors="replace")
        for stream in (self._out, self._err):
            stream.close()
        status = self.process.wait()
        with suppress(BrokenPipeError):
            self._in.close()
        return status, said
