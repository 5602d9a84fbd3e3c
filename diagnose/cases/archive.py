"""Cases with the files attached to them, in one archive (ZIP): the cases as JSON Lines, each file under its hash.

What a member is called decides nothing: each file that a case names is looked for by its hash, held against it, and
kept where files of that case are kept. Whatever else stands in an archive is left alone.
"""

from __future__ import annotations

import hashlib
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import msgspec

from diagnose.bounded import ATTACHMENT, bytes_of
from diagnose.cases.attached_files import place_of
from diagnose.cases.events import Attached
from diagnose.cases.exchange import Passed
from diagnose.errors import BadInput

CASES = "cases.jsonl"

_LONG_AGO = (1980, 1, 1, 0, 0, 0)
"""Time of every member, so that the same cases make the same archive."""

_UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError)


def write_archive(target: IO[bytes], cases: Iterable[tuple[Path, Passed]]) -> list[str]:
    """Write cases, each with where its journal stands, and their files; return what is wrong with files left out."""
    named: dict[str, tuple[Path, str, Attached]] = {}
    wrong: list[str] = []
    with zipfile.ZipFile(target, "w") as archive:
        with archive.open(_member(CASES), "w", force_zip64=True) as lines:
            for journal, case in cases:
                lines.write(msgspec.json.encode(case) + b"\n")
                named |= {each.sha256: (journal, case.case, each) for each in files_of(case)}
        for journal, name, event in named.values():
            try:
                data = bytes_of(place_of(journal, event), ATTACHMENT)
            except (OSError, BadInput):
                wrong.append(f"{event.name} of {name}: the file is missing")
                continue
            if hashlib.sha256(data).hexdigest() == event.sha256:
                archive.writestr(_member(f"files/{event.sha256}"), data)
            else:
                wrong.append(f"{event.name} of {name}: the file is not what was attached")
    return wrong


def files_of(case: Passed) -> list[Attached]:
    """Return the files that a case names by what can be their hash, each once."""
    events = (each.event for each in case.entries)
    known = {each.sha256: each for each in events if isinstance(each, Attached)}
    return [each for sha, each in known.items() if re.fullmatch("[0-9a-f]{64}", sha)]


def _member(name: str) -> zipfile.ZipInfo:
    member = zipfile.ZipInfo(name, _LONG_AGO)
    member.compress_type = zipfile.ZIP_DEFLATED
    return member


class Archive:
    """An archive that is read."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive

    def cases(self) -> IO[bytes]:
        """Return the lines of its cases.

        Raises BadInput where it has none.
        """
        try:
            return self._archive.open(CASES)
        except (KeyError, *_UNREADABLE) as error:
            raise BadInput(f"the archive holds no {CASES} that can be read: it is none of `diagnose cases`") from error

    def file(self, event: Attached) -> bytes:
        """Return what a file held that was attached.

        Raises BadInput where the archive does not have it, or has something else in its place.
        """
        try:
            with self._archive.open(f"files/{event.sha256}") as member:
                data = member.read(ATTACHMENT.most + 1)  # whatever length was named
        except KeyError as error:
            raise BadInput(f"{event.name}: the archive does not have it") from error
        except _UNREADABLE as error:
            raise BadInput(f"{event.name}: it cannot be read from the archive ({error})") from error
        if len(data) > ATTACHMENT.most or hashlib.sha256(data).hexdigest() != event.sha256:
            raise BadInput(f"{event.name}: what the archive has is not what was attached")
        return data

    def others(self) -> list[str]:
        """Return the names of members that are neither the cases nor called as a file of one is."""
        known = re.compile(f"{re.escape(CASES)}|files/([0-9a-f]{{64}})?")
        return [name for name in self._archive.namelist() if not known.fullmatch(name)]


@contextmanager
def opened(path: Path) -> Iterator[Archive]:
    """Give an archive to read from.

    Raises BadInput where it is none.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            yield Archive(archive)
    except (zipfile.BadZipFile, zlib.error, EOFError) as error:
        raise BadInput(f"{path} is no archive ({error}); export it once more with --format zip") from error
    except OSError as error:
        raise BadInput(f"{path} cannot be read: {error.strerror or error}") from error
