"""One program at a time writes a case: a lock on the journal itself, which ends with whoever holds it.

Nothing is left behind, whatever becomes of the program, and by whatever name the file was opened.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

_AT = 1 << 40
"""Where Windows locks one byte: far behind the end, since whatever is locked there nobody else can read."""


_HELD = frozenset({errno.EACCES, errno.EAGAIN, errno.EWOULDBLOCK, errno.EDEADLK})
"""What a system says where somebody else holds a lock; anything else is about the disk, or a share without locks."""


class InUse(Exception):
    """Somebody else holds the lock."""


class Lock:
    """A lock on a file, held until it is released or the program ends.

    Raises InUse where somebody else holds it, OSError where the file cannot be opened for writing.
    """

    def __init__(self, path: Path) -> None:
        self._handle: int | None = os.open(path, os.O_RDWR)
        try:
            _lock(self._handle)
        except OSError as error:
            self.release()
            if error.errno in _HELD:
                raise InUse from error
            raise

    def is_on(self, path: Path) -> bool:
        """Tell whether the file that is locked is still the one of this name."""
        try:
            return self._handle is not None and os.path.samestat(os.fstat(self._handle), path.stat())
        except FileNotFoundError:
            return False

    def release(self) -> None:
        """Let others write; once more does nothing."""
        handle, self._handle = self._handle, None
        if handle is not None:
            os.close(handle)


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        os.lseek(handle, _AT, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
