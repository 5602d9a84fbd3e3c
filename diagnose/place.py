"""A place in a file, and a problem found there, in a long and a one-line form."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

TAB = "\t"
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Categories of characters that cannot be seen, or that steer a terminal."""


@dataclass(frozen=True, order=True)
class Place:
    """Where something stands: file as the user knows it, line and column counted from 1 (0: the whole file)."""

    file: str
    line: int = 0
    column: int = 0
    length: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, order=True)
class Problem:
    """Something wrong at a place: lower-case text without a full stop, and help that says how to mend it."""

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
        """Return the problem with the line it stands in, a caret below it, and the help."""
        lines = [f"error[{self.code}]: {visible(self.text)}", f"  --> {visible(str(self.place))}"]
        if self.source_line and self.place.line:
            number = str(self.place.line)
            pad = " " * len(number)
            before = self.source_line[: self.place.column - 1]
            indent = "".join("\t" if letter == "\t" else " " for letter in visible(before, TAB))
            carets = "^" * max(1, min(self.place.length, len(self.source_line) - len(before)))
            lines += [
                f"{pad} |",
                f"{number} | {visible(self.source_line, TAB)}",
                f"{pad} | {indent}{carets}" + (f" {self.note}" if self.note else ""),
                f"{pad} |",
            ]
        if self.help:
            lines.append(f"help: {visible(self.help)}")
        return "\n".join(lines)


def visible(text: str, kept: str = "") -> str:
    """Return text in which no character is invisible or steers a terminal; those in ``kept`` stay.

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
    """Return ``did you mean `x`?`` for the nearest known word, else ``otherwise``.

    >>> did_you_mean("coil-resistence", ["coil-resistance", "loop-current"])
    'did you mean `coil-resistance`?'
    >>> did_you_mean("xyz", ["coil-resistance"], "see rules/checks")
    'see rules/checks'
    """
    near = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"did you mean `{near[0]}`?" if near else otherwise
