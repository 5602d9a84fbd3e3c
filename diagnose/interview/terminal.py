"""The terminal at its edge: asking one line, from a person or a pipe."""

from __future__ import annotations

import os
import select
import signal
import sys
from dataclasses import dataclass
from typing import TextIO

from rich.console import Console

from diagnose.bounded import LINE_LETTERS, PIPED_LINES, TooLong
from diagnose.language.cleaning import tidy


class InputEnded(Exception):
    """There is no more input: its end was reached, or Ctrl-C was pressed."""


@dataclass
class Terminal:
    """A console to print on and a stream to read from; what comes from a pipe is printed as if typed."""

    console: Console
    stream: TextIO
    person: bool
    lines: int = 0

    def ask(self, prompt: str = "> ") -> str:
        """Return one line, cleaned of control characters.

        Raises InputEnded at the end of input and on Ctrl-C, TooLong for a line or a pipe without end.
        """
        try:
            self.console.print(prompt, end="")
            self.console.file.flush()
            line = self._typed() if self.person and self.stream is sys.stdin else self._piped()
        except (EOFError, KeyboardInterrupt) as error:
            self.console.print()
            raise InputEnded from error
        if not line and not (self.person and self.stream is sys.stdin):
            self.console.print()
            raise InputEnded
        if not self.person:
            self.console.print(tidy(line).rstrip("\n"))
        return tidy(line).strip()

    def _piped(self) -> str:
        self.lines += 1
        line = self.stream.readline(LINE_LETTERS + 1)
        if len(line) > LINE_LETTERS:
            raise TooLong(f"a line of the input has more than {LINE_LETTERS:,} letters; end each answer with its line")
        if self.lines > PIPED_LINES:
            raise TooLong(f"the input has more than {PIPED_LINES:,} lines, and no interview takes so many answers")
        return line

    def _typed(self) -> str:
        """Wait for a line or a signal, and read the line.

        A signal that comes just before reading begins would otherwise be seen only after the next line: so what is
        waited for is the keyboard and the signal together.
        """
        if os.name == "posix":
            reading, writing = os.pipe()
            os.set_blocking(writing, False)
            before = signal.set_wakeup_fd(writing)
            try:
                select.select([sys.stdin, reading], [], [])
            finally:
                signal.set_wakeup_fd(before)
                os.close(reading)
                os.close(writing)
        return input()
