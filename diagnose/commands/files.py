"""Files that are named on the command line."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import BadInput
from diagnose.whole_files import write_whole

if TYPE_CHECKING:
    from diagnose.rule_book.book import RuleBook
    from diagnose.rule_book.quantities import DataSheet


def read_sheet(path: Path | None, rule_book: RuleBook) -> DataSheet:
    """Return the data sheet in a file; nothing is known without one.

    Raises ProblemsFound with all that is wrong with it, BadInput when it cannot be read.
    """
    if path is None:
        return {}
    from diagnose.rule_book.data_sheet import read_data_sheet  # reads YAML, which takes a while to load

    return read_data_sheet(path, rule_book)


def write_text(path: Path, text: str) -> None:
    """Write a whole file or nothing: what stood there before stays until the new one is complete.

    Raises BadInput when it cannot be written.
    """
    write_pieces(path, [text])


def write_pieces(path: Path, pieces: Iterable[str]) -> None:
    """Write a file as :func:`write_text` does, a piece at a time."""
    write_bytes(path, (each.encode() for each in pieces))


def write_bytes(path: Path, pieces: Iterable[bytes]) -> None:
    """Write bytes as :func:`write_text` writes a text, a piece at a time."""
    try:
        write_whole(path, pieces, devices=True)
    except OSError as error:
        raise BadInput(f"{path} cannot be written: {error.strerror or error}") from error
