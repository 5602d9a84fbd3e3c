"""All errors that a user can cause, in one tree.

    DiagnoseError
    ├── WrongUse            the command line makes no sense                exit status 2
    ├── BadInput            a file or text cannot be used                  exit status 1
    │   ├── NoSuchCase      no case has that name                          exit status 1
    │   └── ProblemsFound   problems located in rules, cases, data sheets  exit status 1
    ├── UnitError           a unit is unknown or of the wrong dimension    exit status 1
    └── OutOfRange          a calculation is outside its range of validity exit status 1

A message says what is wrong and how to mend it. The command line prints ``str(error)`` and exits with
``error.exit_status``, never with a traceback.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.place import Problem

MOST_TOLD = 100
"""Problems that are told at once; who mends so many looks again for the rest."""


class DiagnoseError(Exception):
    """Base class of errors caused by the input, not by the program."""

    exit_status = 1


class WrongUse(DiagnoseError):
    """The options or arguments of a command make no sense."""

    exit_status = 2


class BadInput(DiagnoseError):
    """A file or a text cannot be used as it is."""


class NoSuchCase(BadInput):
    """No case is kept under that name."""


class ProblemsFound(BadInput):
    """All problems found in a file, each with its place."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        told = [problem.in_full() for problem in self.problems[:MOST_TOLD]]
        more = len(self.problems) - len(told)
        super().__init__("\n\n".join([*told, *([f"… and {more:,} more problems"] if more else [])]))


class UnitError(DiagnoseError):
    """A unit is unknown, missing, or of another dimension than the quantity."""


class OutOfRange(DiagnoseError):
    """A calculation was requested outside its range of validity."""
