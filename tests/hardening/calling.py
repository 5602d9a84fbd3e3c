"""``diagnose`` called inside this process, with engines that are made once: fast enough for thousands of calls."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

from diagnose.commands.main import main
from diagnose.reasoning import ready
from diagnose.reasoning.engine import Engine
from tests.commands.running import Done, environment


@lru_cache(maxsize=4)
def engine_of(rules: Path) -> Engine:
    """Return the engine of a rule book, made once."""
    return _load_engine(rules)


_load_engine = ready.load_engine


class _Terminal(io.TextIOWrapper):
    """A stream whose end can be looked at after it was closed."""

    def __init__(self) -> None:
        self.held = io.BytesIO()
        super().__init__(self.held, encoding="utf-8", write_through=True)


@contextmanager
def surroundings(folder: Path, **changes: str) -> Iterator[None]:
    """Work in a folder that holds cases and cache, with nothing of the person's own."""
    before = Path.cwd()
    own = {**environment(), "DIAGNOSE_CASES": str(folder / "cases"), "COLUMNS": "80", **changes}
    with patch.dict(os.environ, own):
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(before)


def call(arguments: Sequence[str], typed: str | bytes = "", fresh: bool = False) -> Done:
    """Call ``diagnose`` and return what it left; a ``fresh`` engine is read from disk as in a process of its own.

    An error that ``main`` lets through is raised: that would be a traceback.
    """
    given = typed.encode("utf-8", "surrogateescape") if isinstance(typed, str) else typed
    out, err = _Terminal(), _Terminal()
    standard: dict[str, Any] = {
        "argv": ["diagnose", *arguments],
        "stdin": io.TextIOWrapper(io.BytesIO(given), encoding="utf-8"),
        "stdout": out,
        "stderr": err,
    }
    with ExitStack() as stack:
        for name, value in standard.items():
            stack.enter_context(patch.object(sys, name, value))
        if not fresh:
            stack.enter_context(patch.object(ready, "load_engine", lambda folder, *_: engine_of(folder)))
        try:
            main()
            status = 0
        except SystemExit as leaving:
            status = leaving.code if isinstance(leaving.code, int) else 0
    return Done(status, *(each.held.getvalue().decode("utf-8", "replace") for each in (out, err)))
