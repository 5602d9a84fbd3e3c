"""How long something that is tried may take."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Hangs(BaseException):
    """Something takes far too long; no handler of errors takes this for one."""


@contextmanager
def patience(seconds: int) -> Iterator[None]:
    """Raise Hangs where something takes longer; only where signals can do that."""

    def interrupt(_: int, __: FrameType | None) -> None:
        raise Hangs

    before = signal.signal(signal.SIGALRM, interrupt)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
