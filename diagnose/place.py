"""A place in a file and a problem there, shown in full or on one line."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

TAB = "\t"
_SHOWN, _SHOWN_BEFORE = 400, 200
"""Characters of a line that are shown, and so many of them before the place; lines of files are shorter."""

_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories of characters that are invisible or control a terminal."""


@dataclass(frozen=True, order=True)
class Place:
    """A position in a file: its name as the user knows it, line and column counted from 1 (0: the whole file)."""

    file: str
    line: int = 0
    column: int = 0
    length: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, order=True)
class Problem:
    """Something wrong at a place: a text in lower case without a full stop, and help on how to mend it."""

    place: Place
    code: str
    text: str
    help: str = ""
    note: str = ""
    source_line: str = ""

    def in_one_line(self) -> str:
        """Return ``file:line:column: error[code] text`` for editors and continuous integration.

        >>> Problem(Place("a.yaml", 3, 5), "unknown-key", "no field `titel`", "did you mean `title`?").in_one_line()
        'a.yaml:3:5: error[unknown-key] no field `titel` (did you mean `title`?)'
        """
        extra = f" ({self.help})" if self.help else ""
        return visible(f"{self.place}: error[{self.code}] {self.text}{extra}")

    def in_full(self) -> str:
        """Return the problem with its source line, carets below the place, and the help."""
        lines = [f"error[{self.code}]: {visible(self.text)}", f"  --> {visible(str(self.place))}"]
        if self.source_line and self.place.line:
            number = str(self.place.line)
            pad = " " * len(number)
            start = max(0, self.place.column - 1 - _SHOWN_BEFORE)
            line = self.source_line[start : start + _SHOWN]
            before = line[: self.place.column - 1 - start]
            indent = "".join("\t" if letter == "\t" else " " for letter in visible(before, TAB))
            carets = "^" * max(1, min(self.place.length, len(line) - len(before)))
            lines += [
                f"{pad} |",
                f"{number} | {visible(line, TAB)}",
                f"{pad} | {indent}{carets}" + (f" {self.note}" if self.note else ""),
                f"{pad} |",
            ]
        if self.help:
            lines.append(f"help: {visible(self.help)}")
        return "\n".join(lines)


def visible(text: str, kept: str = "") -> str:
    """Escape invisible characters and those that control a terminal, except the ones in ``kept``.

    >>> print(visible("\\x1b[31mred"))
    \\x1b[31mred
    """
    return "".join(
        letter.encode("unicode_escape").decode()
        if unicodedata.category(letter) in _UNSEEN and letter not in kept
        else letter
        for letter in text
    )


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """Return ``did you mean `x`?`` for the closest known word, or ``otherwise`` if none is close.

    >>> did_you_mean("coil-resistence", ["coil-resistance", "loop-current"])
    'did you mean `coil-resistance`?'
    >>> did_you_mean("xyz", ["coil-resistance"], "see rules/checks")
    'see rules/checks'
    """
    near = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"did you mean `{near[0]}`?" if near else otherwise
