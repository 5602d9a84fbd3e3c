"""A disk that is full from the n-th call on that would take room, for whatever this process writes."""

from __future__ import annotations

import errno
import io
import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch


class FullDisk:
    """Counts the calls that write below a folder, and lets them fail from call number ``first`` (from 1) on.

    With ``once`` only that one fails. A write that fails has written half of it, as disks do. A full disk still takes
    away: *truncate* fails only with ``not_even_shorter``.
    """

    def __init__(self, folder: Path, first: int, once: bool = False, not_even_shorter: bool = False) -> None:
        self.folder, self.first, self.once, self.not_even_shorter = folder, first, once, not_even_shorter
        self.calls: list[str] = []
        self._ours: set[int] = set()
        names = ("mkdir", "replace", "truncate", "open", "fdopen", "fsync")
        self._real: dict[str, Any] = {name: getattr(os, name) for name in names} | {"path open": io.open}

    @property
    def failed(self) -> bool:
        """Whether a call has failed."""
        return len(self.calls) >= self.first

    @contextmanager
    def mounted(self) -> Iterator[None]:
        """Let the functions of ``os`` fail."""
        with ExitStack() as stack:
            for name in ("mkdir", "replace", "truncate", "open", "fdopen", "fsync"):
                stack.enter_context(patch.object(os, name, getattr(self, f"_{name}")))
            stack.enter_context(patch.object(io, "open", self._path_open))
            yield

    def _counted(self, call: str) -> None:
        self.calls.append(call)
        now = len(self.calls)
        if now == self.first or (now > self.first and not self.once):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def _is_ours(self, path: Any) -> bool:
        return not isinstance(path, int) and Path(path).absolute().is_relative_to(self.folder)

    def _mkdir(self, path: Any, *rest: Any, **more: Any) -> None:
        if self._is_ours(path) and not Path(path).exists():
            self._counted(f"mkdir {Path(path).name}")
        self._real["mkdir"](path, *rest, **more)

    def _replace(self, source: Any, target: Any, **more: Any) -> None:
        if self._is_ours(target):
            self._counted(f"replace {Path(target).suffix}")
        self._real["replace"](source, target, **more)

    def _truncate(self, path: Any, length: int) -> None:
        if self.not_even_shorter and self._is_ours(path):
            self._counted("truncate")
        self._real["truncate"](path, length)

    def _open(self, path: Any, flags: int, *rest: Any, **more: Any) -> int:
        if self._is_ours(path) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            self._counted(f"open {Path(path).suffix}")
            handle: int = self._real["open"](path, flags, *rest, **more)
            self._ours.add(handle)
            return handle
        opened: int = self._real["open"](path, flags, *rest, **more)
        self._ours.discard(opened)
        return opened

    def _fsync(self, handle: int) -> None:
        if handle in self._ours:
            self._counted("fsync")
        self._real["fsync"](handle)

    def _path_open(self, path: Any, mode: str = "r", *rest: Any, **more: Any) -> Any:
        """Open as ``Path.open`` and ``Path.write_text`` do."""
        if not (self._is_ours(path) and set(mode) & set("wax+")):
            return self._real["path open"](path, mode, *rest, **more)
        self._counted(f"open {Path(path).suffix}")
        return _File(self._real["path open"](path, mode, *rest, **more), self)

    def _fdopen(self, handle: int, *rest: Any, **more: Any) -> Any:
        file = self._real["fdopen"](handle, *rest, **more)
        return _File(file, self) if handle in self._ours else file


class _File:
    """An open file whose writes are counted; one that fails has written half."""

    def __init__(self, file: Any, disk: FullDisk) -> None:
        self._file, self._disk = file, disk

    def write(self, data: Any) -> None:
        """Write all of it, or half and fail."""
        try:
            self._disk._counted("write")
        except OSError:
            self._file.write(data[: len(data) // 2])
            self._file.flush()
            raise
        self._file.write(data)

    def __enter__(self) -> _File:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)
