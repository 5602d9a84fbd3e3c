"""The data sheet of each meter, kept by its tag beside the cases: plain YAML, one file a meter, to read and to edit.

A name is made of the tag and leads nowhere else; one program at a time writes a file, whole or not at all.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from diagnose.bounded import DATA_SHEET, bytes_of
from diagnose.cases.journal import name_as_kept, sync_folder, why_not
from diagnose.cases.lock import InUse, Lock
from diagnose.errors import BadInput
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import DataSheet
from diagnose.whole_files import write_whole

FOLDER = "meters"

_TRIES = 5
"""So often a file is opened anew that somebody else has just put in place of the one that was opened."""


def sheet_of(folder: Path, tag: str) -> Path:
    """Return where the data sheet of a meter is kept; a tag is the same in capitals and in small letters.

    >>> sheet_of(Path("cases"), "FT-31").as_posix()
    'cases/meters/ft-31.yaml'
    >>> sheet_of(Path("cases"), "../FT 31").name == sheet_of(Path("cases"), "FT/31").name
    False
    """
    name = tag.lower()
    stem = name_as_kept(name)
    if stem != name:
        stem = f"{stem}-{hashlib.sha256(name.encode()).hexdigest()[:8]}"
    return folder / FOLDER / f"{stem}.yaml"


def kept_sheet(folder: Path, tag: str, rule_book: RuleBook) -> DataSheet:
    """Return what the data sheet kept of a meter says, in SI units; nothing where none is kept.

    Raises ProblemsFound with all that is wrong with it, BadInput when it cannot be read.
    """
    path = sheet_of(folder, tag)
    if not tag or not kept_text(path):
        return {}
    from diagnose.rule_book.data_sheet import read_data_sheet  # reads YAML, which takes a while to load

    return read_data_sheet(path, rule_book)


def kept_text(path: Path) -> str:
    """Return what stands in a data sheet that is kept; nothing where there is none.

    Raises BadInput when it cannot be read, or is a link.
    """
    if path.is_symlink() or path.parent.is_symlink():
        raise BadInput(f"{path} is a link; data sheets of meters are kept as files of their own")
    try:
        return bytes_of(path, DATA_SHEET).decode()
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise BadInput(f"{path} is no text in UTF-8; write it anew") from error
    except OSError as error:
        raise BadInput(why_not(f"the data sheet {path} cannot be read", error)) from error


def keep(path: Path, change: Callable[[str], str]) -> bool:
    """Keep a data sheet: ``change`` makes the new text of the one that stands there; tell whether there is a new one.

    Raises BadInput when it cannot be written, or while another program writes it.
    """
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept_text(path)
        lock = _locked(path)
    except InUse as error:
        raise BadInput(f"{path} is being written by another program; do it once more") from error
    except OSError as error:
        raise BadInput(why_not(f"the data sheet cannot be kept in {path.parent}", error)) from error
    try:
        before = kept_text(path)
        text = change(before)
        if text != before:
            _replace(path, text)
    finally:
        lock.release()
        with suppress(OSError):
            if not path.stat().st_size:  # nothing has come of it
                path.unlink()
    return text != before


def _locked(path: Path) -> Lock:
    """Return the lock on a file, which is made where there is none; nobody has put another one in its place since."""
    for _ in range(_TRIES):
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        with suppress(FileNotFoundError):
            lock = Lock(path)
            if lock.is_on(path):
                return lock
            lock.release()
    raise InUse


def _replace(path: Path, text: str) -> None:
    try:
        write_whole(path, [text.encode()], mode=0o600, put_through=True)
        sync_folder(path.parent)
    except OSError as error:
        raise BadInput(why_not(f"the data sheet {path} cannot be written", error)) from error


def with_fields(text: str, fields: Mapping[str, Any], title: str = "") -> str:
    """Return a data sheet with further fields, in place of those that were left blank; a new one gets the title.

    >>> print(with_fields("bore:\\nnote: by the pump\\n", {"bore": "100 mm"}), end="")
    note: by the pump
    bore: 100 mm
    """
    import yaml

    kept = [line for line in text.splitlines() if not _is_blank(line, fields)]
    if not text and title:
        fields = {"title": title, **fields}
    added = yaml.safe_dump(dict(fields), allow_unicode=True, sort_keys=False) if fields else ""
    return "".join(f"{line}\n" for line in kept) + added


def _is_blank(line: str, fields: Mapping[str, Any]) -> bool:
    blank = re.fullmatch(r"([\w-]+):\s*(?:#.*)?", line)
    return blank is not None and blank[1] in fields
