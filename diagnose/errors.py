"""Every error that a user may cause, in one tree.

    DiagnoseError
    ├── WrongUse            the command was called wrongly                 exit status 2
    ├── BadInput            a file or text cannot be used                  exit status 1
    │   └── ProblemsFound   problems with places, in rules, cases, sheets  exit status 1
    ├── UnitError           a unit is unknown or of the wrong dimension    exit status 1
    └── OutOfRange          a calculation was asked outside its validity   exit status 1

A message says what is wrong and how to mend it. Whoever catches one prints ``str(error)`` and leaves with
``error.exit_status``; nobody prints a traceback for one of these.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.place import Problem


class DiagnoseError(Exception):
    """Base of all errors that are the input's and not the program's."""

    exit_status = 1


class WrongUse(DiagnoseError):
    """The command was called in a way that cannot be meant."""

    exit_status = 2


class BadInput(DiagnoseError):
    """A file or a text cannot be used as it is."""


class ProblemsFound(BadInput):
    """One or more problems with places, all of those found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n\n".join(problem.in_full() for problem in self.problems))


class UnitError(DiagnoseError):
    """A unit is unknown, missing, or of another dimension than the quantity."""


class OutOfRange(DiagnoseError):
    """A calculation was asked for outside its range of validity."""
