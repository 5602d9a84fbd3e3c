"""Files that are written whole or not at all, whatever becomes of the program or the disk meanwhile."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path


def write_whole(
    path: Path,
    pieces: Iterable[bytes],
    *,
    mode: int = 0o666,
    put_through: bool = False,
    anew: bool = False,
    devices: bool = False,
) -> None:
    """Write a file whole: what stood there before stays until the new one is complete, and nothing is left beside it.

    ``mode`` are its rights, less what the user's mask takes away. With ``put_through`` it is on the disk before its
    name leads to it. With ``anew`` nothing may stand there, not even a link. With ``devices`` what is no file, as a
    person may name it (``/dev/stdout``, a pipe), is written to as it is, and waits for whoever reads it. Raises
    OSError where it cannot be written, FileExistsError among them, and whatever ``pieces`` raises.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_whole(Path(folder) / "lamp", [b"on", b"!"])
    ...     [(each.name, each.stat().st_size) for each in Path(folder).iterdir()]
    [('lamp', 3)]
    """
    if devices and path.exists() and not path.is_file():
        _write_through(path, pieces)
        return
    beside = path.parent / f".{os.urandom(8).hex()}.part"
    try:
        with os.fdopen(_new(beside, mode), "wb") as file:
            file.writelines(pieces)
            if put_through:
                file.flush()
                os.fsync(file.fileno())
        if anew:
            os.close(_new(path, mode))  # the name is taken, so that nobody else can have it meanwhile
            try:
                os.replace(beside, path)
            except BaseException:
                path.unlink()
                raise
        else:
            os.replace(beside, path)
    except BaseException:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise


def _write_through(path: Path, pieces: Iterable[bytes]) -> None:
    """Write to what is no file and must stay what it is: a device, a pipe, a link to one."""
    with path.open("wb", buffering=0) as device:
        for piece in pieces:
            device.write(piece)


def _new(path: Path, mode: int) -> int:
    """Return a handle to a file that was not there before, not even as a link that leads nowhere."""
    binary: int = getattr(os, "O_BINARY", 0)
    return os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY | binary, mode)
