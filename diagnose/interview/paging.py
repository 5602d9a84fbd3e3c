"""Showing more than fits: page by page, and never so that what is asked about scrolls out of sight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.documents.blocks import Block
from diagnose.documents.text import write
from diagnose.interview.terminal import Terminal

MORE = "Enter for more > "

FEWEST_LINES = 5
"""A terminal that claims fewer lines than this is not believed."""


@dataclass
class Pager:
    """Pages at one terminal; to a pipe everything goes at once."""

    terminal: Terminal

    def show(self, above: Sequence[Block], below: Sequence[Block], asked: int = 1) -> str:
        """Show two groups of blocks, the second on one page with the question wherever it fits on one.

        ``asked`` lines are kept for what is asked below. Return what was typed in place of Enter, so that it can be
        taken as the answer; the rest is shown all the same.
        """
        pages = self._pages(above, below, asked)
        typed = ""
        for number, page in enumerate(pages):
            self.terminal.console.file.write("".join(f"{line}\n" for line in page))
            if number < len(pages) - 1 and self.terminal.person and not typed:
                typed = self.terminal.ask(MORE)
        self.terminal.console.file.flush()
        return typed

    def _pages(self, above: Sequence[Block], below: Sequence[Block], asked: int) -> list[list[str]]:
        upper, lower = self._lines(above), self._lines(below)
        room = max(FEWEST_LINES, self.terminal.console.height - 1)
        last = room - asked
        if not self.terminal.person or len(upper) + len(lower) <= last:
            return [[*upper, *lower]]
        if len(lower) <= last:
            return [*_cut(upper, room, room), lower]
        # What comes first, such as a stop, is seen at once; what it says stays on the screen above the choices.
        return _cut([*upper, *lower], room, last)

    def _lines(self, blocks: Sequence[Block]) -> list[str]:
        with self.terminal.console.capture() as captured:
            write(self.terminal.console, blocks)
        return captured.get().splitlines()


def _cut(lines: list[str], length: int, last: int) -> list[list[str]]:
    """Return lines in pages, at most ``last`` lines on the last; no page begins with an empty line."""
    pages = []
    while len(lines) > last:
        end = min(length, len(lines) - 1)
        page, lines = lines[:end], lines[end:]
        pages.append(page)
        while lines and not lines[0].strip():
            lines = lines[1:]
    return [*pages, lines] if lines else pages
