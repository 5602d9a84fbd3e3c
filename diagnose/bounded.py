"""How much of anything is read: every limit stands here, and reading a file or a stream goes through here.

What is longer than its limit is refused before it is read whole, whatever it is: a device, a pipe that never ends, a
file of gigabytes. Nobody's report, rule or data sheet comes near a limit; what does is another kind of file.
"""

from __future__ import annotations

import fnmatch
import io
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import IO, NamedTuple

from diagnose.errors import BadInput

_UNITS = ((1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB"))


class Limit(NamedTuple):
    """The most bytes of one kind of input: what it is, how many, and what to do with more."""

    what: str
    most: int
    instead: str

    def __str__(self) -> str:
        """Return the limit as people read it.

        >>> str(LOG), str(REPORT), str(DATA_SHEET)
        ('1 GB', '2 MB', '100 kB')
        """
        size, unit = next((each for each in _UNITS if self.most >= each[0]), (1, "bytes"))
        return f"{self.most // size} {unit}"


REPORT = Limit("report", 2_000_000, "take out what is attached, and leave what tells of the fault")
READINGS = Limit("table of readings", 2_000_000, "nobody compares so many by hand; use `diagnose trend` for a log")
LOG = Limit("log", 1_000_000_000, "split it by days and read one at a time")
DATA_SHEET = Limit("data sheet", 100_000, "a data sheet has one line for each field")
RULE_FILE = Limit("rule file", 1_000_000, "split it up")
RECORDED_CASE = Limit("recorded case", 1_000_000, "a recorded case has one report and its answers")
CACHED = Limit("file of the cache", 200_000_000, "it is not ours")
JOURNAL = Limit("case", 10_000_000, "it is not a case")
ATTACHMENT = Limit("file to attach", 50_000_000, "attach the part that shows something, and say where the rest is kept")

PICTURE_BYTES = 1_500_000
"""Bytes of an attached picture that is shown in a report; a larger one is named there."""

LARGEST_FIGURE = 1e15
"""In whatever unit: what is larger was typed wrongly or never measured, and could not be worked with."""

REPORT_LETTERS = 100_000
"""Characters of a report that are understood; the rest is left out, and a doubt says so."""

PAIRS = 10_000
"""Pairs of readings in a table that is compared."""

REPORT_TABLES, REPORT_ROWS = 10, 1_000
"""Tables of readings in one report that are compared, and lines of each; a doubt says how many were left out."""

REPORT_METERS = 20
"""Meters of one report that are diagnosed, each by itself; a message says how many were left out."""

REPLY_LETTERS = 20_000
"""Letters of one reply at a prompt; anything longer belongs in a file."""

LINE_LETTERS = 2_000_000
"""Letters of a line that are read from a pipe; a longer one has no end."""

PIPED_LINES = 2_000
"""Lines that are read from a pipe in place of a person; no interview takes so many answers."""

LOG_ROWS = 50_000_000
"""Rows of a log: each takes eight bytes per column."""

YAML_LEVELS = 30
"""Levels of nesting in a rule file; authored rules need fewer than ten."""

FOLDER_FILES = 20_000
"""Files below a folder of rules or cases, of whatever kind."""

FOLDER_BYTES = 100_000_000
"""Bytes of all files of a folder of rules or cases together."""


PIECE = 1_000_000
"""Bytes copied at once."""


class TooLong(BadInput):
    """There is more of an input than is read of its kind."""


def read_file(path: Path, limit: Limit) -> bytes:
    """Return the bytes of a file.

    Raises TooLong where there are more than the limit, BadInput where it cannot be read.
    """
    try:
        return bytes_of(path, limit)
    except OSError as error:
        raise BadInput(f"the {limit.what} {path} cannot be read: {error.strerror or error}") from error


def bytes_of(path: Path | str, limit: Limit) -> bytes:
    """Return the bytes of a file, never more than the limit.

    Raises TooLong where there are more, OSError where it cannot be read.
    """
    with open(path, "rb", buffering=0) as file:
        known = os.fstat(file.fileno())
        if not stat.S_ISREG(known.st_mode):
            with io.BufferedReader(file) as stream:
                return read_stream(stream, limit, f"{limit.what} {path}")
        if known.st_size > limit.most:
            raise too_long(limit, f"{limit.what} {path}")
        return file.readall()  # not through a buffer: room for the whole limit takes longer to make than this to read


def read_stream(stream: IO[bytes], limit: Limit, name: str) -> bytes:
    """Return what comes from a stream, to its end; ``name`` says what it is.

    Raises TooLong where more comes than the limit.

    >>> import io
    >>> read_stream(io.BytesIO(b"dark"), Limit("report", 3, "cut it"), "report")
    Traceback (most recent call last):
    diagnose.bounded.TooLong: the report is longer than 3 bytes, the most that is read of a report; cut it
    """
    data = stream.read(limit.most + 1)
    if len(data) > limit.most:
        raise too_long(limit, name)
    return data


def copy_stream(stream: IO[bytes], kept: IO[bytes], limit: Limit, name: str) -> None:
    """Copy what comes from a stream, piece by piece.

    Raises TooLong where more comes than the limit, BadInput where there is no room for it.
    """
    size = 0
    while piece := stream.read(PIECE):
        size += len(piece)
        if size > limit.most:
            raise too_long(limit, name)
        try:
            kept.write(piece)
        except OSError as error:
            raise BadInput(f"the {name} cannot be put by to be read: {error.strerror or error}") from error


def too_long(limit: Limit, name: str) -> TooLong:
    """Return the error for what is longer than its limit."""
    return TooLong(f"the {name} is longer than {limit}, the most that is read of a {limit.what}; {limit.instead}")


def files_below(folder: Path, pattern: str) -> list[Path]:
    """Return what stands below a folder under a name that fits a pattern, sorted.

    A link to another folder is followed only where it stands in the folder itself.

    Raises TooLong for a folder that holds far more than rules or cases.
    """
    return [Path(path) for path in paths_below(folder, pattern)]


def paths_below(folder: Path, pattern: str) -> list[str]:
    """Return the same as plain text, which takes less time than reading the files."""
    return sorted(_paths_below(str(folder), pattern))


def _refused(error: OSError) -> None:
    """Raise BadInput for a folder that cannot be read, or it would be passed over as if there were nothing in it."""
    if not isinstance(error, FileNotFoundError | NotADirectoryError):
        raise BadInput(f"the folder {error.filename} cannot be read: {error.strerror}") from error


def _paths_below(folder: str, pattern: str) -> Iterator[str]:
    seen = size = 0
    for here, folders, names in os.walk(folder, onerror=_refused, followlinks=True):
        seen += len(folders) + len(names)
        names += folders
        if here != folder:
            folders[:] = [each for each in folders if not os.path.islink(os.path.join(here, each))]
        if seen > FOLDER_FILES:
            raise TooLong(f"{folder} holds more than {FOLDER_FILES:,} files; name the folder of the rule book or cases")
        for path in (os.path.join(here, name) for name in fnmatch.filter(names, pattern)):
            size += os.lstat(path).st_size
            if size > FOLDER_BYTES:
                raise TooLong(f"the files in {folder} have more than {FOLDER_BYTES // 1_000_000} MB together; split it")
            yield path
