"""Files that belong to a case, kept beside its journal under the hash of what they hold.

A name is only what somebody called a file; where it is kept follows from its bytes alone: no name leads anywhere
else, and the same file is kept once.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Literal, NamedTuple

from diagnose.bounded import ATTACHMENT, PICTURE_BYTES, bytes_of, read_file
from diagnose.cases.events import Attached, Case
from diagnose.cases.journal import Journal, sync_folder
from diagnose.errors import BadInput
from diagnose.place import visible
from diagnose.whole_files import write_whole

LONGEST_NAME = 120

_SUFFIX = re.compile(r"\.[a-z0-9]{1,8}")

_PICTURES = (
    (b"\x89PNG\r\n\x1a\n", b"", "image/png"),
    (b"\xff\xd8\xff", b"", "image/jpeg"),
    (b"GIF8", b"", "image/gif"),
    (b"RIFF", b"WEBP", "image/webp"),
)
"""How a picture begins, what stands at its ninth byte, and its media type. What may hold scripts is none of them."""


class KeptFile(NamedTuple):
    """A file of a case: what was attached and when, where it is kept, and what became of it.

    ``data`` is what it holds where it is a ``picture``, or figures, and small enough to be shown; else nothing.
    """

    attached: Attached
    at: str
    path: Path
    kept: Literal["as attached", "missing", "changed"]
    picture: str = ""
    data: bytes = b""


def folder_of(journal: Path) -> Path:
    """Return the folder in which the files of a case are kept."""
    return journal.with_suffix(".files")


def attach(
    journal: Journal, paths: Sequence[Path], note: str = "", by: str = "", name: str = ""
) -> tuple[Attached, ...]:
    """Copy files beside a case and keep that they belong to it; none is kept where one of them cannot be read.

    ``name`` is what they are called, where that is not the name of the file.

    Raises BadInput where a file cannot be read or kept, TooLong where it is too long.
    """
    read = [(path, read_file(path, ATTACHMENT)) for path in paths]
    added: list[Attached] = []
    for path, data in read:
        event = Attached(
            name=visible(name or path.name)[-LONGEST_NAME:],
            sha256=hashlib.sha256(data).hexdigest(),
            size=len(data),
            note=visible(note, "\n"),
            by=visible(by),
        )
        _keep(place_of(journal.path, event), data)
        added.append(event)
    known = [entry.event for entry in journal.entries]
    new = tuple(event for event in dict.fromkeys(added) if event not in known)
    if new:
        journal.add(journal.new_turn(), *new)
    return tuple(added)


def keep_figures(journal: Journal, text: str, kind: Literal["pairs", "log"], note: str) -> Attached:
    """Keep figures that were analysed beside a case; return what says that they belong to it.

    Raises BadInput where they cannot be kept.
    """
    data = text.encode()
    digest = hashlib.sha256(data).hexdigest()
    event = Attached(
        name=f"{kind}-{digest[:8]}.csv", sha256=digest, size=len(data), note=visible(note, "\n"), figures=kind
    )
    _keep(place_of(journal.path, event), data)
    return event


def kept_files(journal: Path, case: Case) -> Iterator[KeptFile]:
    """Go through the files of a case in the order in which they were attached, each once, with its last note."""
    last = {each.event.sha256: each for each in case.entries if isinstance(each.event, Attached)}
    for entry in last.values():
        event = entry.event
        assert isinstance(event, Attached)
        path = place_of(journal, event)
        try:
            data = bytes_of(path, ATTACHMENT) if not path.is_symlink() else b""
        except (OSError, BadInput):
            yield KeptFile(event, entry.at, path, "missing")
            continue
        if hashlib.sha256(data).hexdigest() != event.sha256:
            yield KeptFile(event, entry.at, path, "changed")
            continue
        picture = _picture(data) if len(data) <= PICTURE_BYTES else ""
        shown = picture or (event.figures and len(data) <= PICTURE_BYTES)
        yield KeptFile(event, entry.at, path, "as attached", picture, data if shown else b"")


def take_in(journal: Path, event: Attached, data: bytes) -> bool:
    """Keep a file that came along with a case; tell whether it was not there yet, or not as it was attached.

    Raises BadInput where it cannot be kept.
    """
    path = place_of(journal, event)
    try:
        there = not path.is_symlink() and bytes_of(path, ATTACHMENT) == data
    except (OSError, BadInput):
        there = False
    if not there:
        _keep(path, data)
    return not there


def place_of(journal: Path, event: Attached) -> Path:
    """Return where a file is kept; what is no hash, in a journal that somebody else wrote, leads nowhere."""
    name = event.sha256 if re.fullmatch(r"[0-9a-f]{64}", event.sha256) else "no-such-hash"
    suffix = Path(event.name).suffix.lower()
    return folder_of(journal) / f"{name}{suffix if _SUFFIX.fullmatch(suffix) else ''}"


def _picture(data: bytes) -> str:
    found = (kind for begin, later, kind in _PICTURES if data.startswith(begin) and data[8:].startswith(later))
    return next(found, "")


def _keep(path: Path, data: bytes) -> None:
    """Write a file whole, or not at all; what stands there already is the same, or is put right."""
    try:
        path.parent.mkdir(mode=0o700, exist_ok=True)
        if path.parent.is_symlink():
            raise BadInput(f"{path.parent} is a link; files of a case are kept in a folder of its own")
        write_whole(path, [data], mode=0o600, put_through=True)
        sync_folder(path.parent)
    except OSError as error:
        raise BadInput(f"the file cannot be kept in {path.parent}: {error.strerror or error}") from error
