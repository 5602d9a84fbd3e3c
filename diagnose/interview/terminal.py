"""The terminal at its edge: asking one line, from a person or a pipe."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TextIO

from rich.console import Console

from diagnose.language.cleaning import tidy


class InputEnded(Exception):
    """There is no more input: its end was reached, or Ctrl-C was pressed."""


@dataclass
class Terminal:
    """A console to print on and a stream to read from; what comes from a pipe is printed as if typed."""

    console: Console
    stream: TextIO
    person: bool

    def ask(self, prompt: str = "> ") -> str:
        """Return one line, cleaned of control characters.

        Raises InputEnded at the end of input and on Ctrl-C.
        """
        self.console.print(prompt, end="")
        self.console.file.flush()
        try:
            line: str = input() if self.person else self.stream.readline()
        except (EOFError, KeyboardInterrupt) as error:
            self.console.print()
            raise InputEnded from error
        except UnicodeDecodeError:
            line = "\n"
        if not self.person:
            if not line:
                self.console.print()
                raise InputEnded
            self.console.print(tidy(line).rstrip("\n"))
        return tidy(line).strip()
