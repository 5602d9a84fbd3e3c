"""Files that are named on the command line."""

from __future__ import annotations

from pathlib import Path

from diagnose.errors import BadInput


def read_file(path: Path, what: str) -> bytes:
    """Return the bytes of a file; raises BadInput, saying ``what`` it would have been, when it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadInput(f"the {what} {path} cannot be read: {error.strerror or error}") from error
