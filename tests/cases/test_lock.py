"""A case is written by one program at a time, and nothing is left beside it."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from diagnose.cases.journal import Journal
from diagnose.cases.lock import InUse, Lock
from diagnose.errors import BadInput
from tests.cases.any_events import DARK


def test_a_case_is_open_once_and_leaves_nothing_but_its_journal(tmp_path: Path) -> None:
    """While it is open, after it is closed, and when it is opened again; what older versions left is taken away."""
    with Journal.start(tmp_path, {}, "lamp") as journal:
        journal.add(1, DARK)
        with pytest.raises(BadInput, match="is open in another interview"):
            Journal.resume(tmp_path, "lamp")
        assert [each.name for each in tmp_path.iterdir()] == ["lamp.case"]
    (tmp_path / "lamp.case.lock").touch()
    with Journal.resume(tmp_path, "lamp") as journal:
        journal.add(2, DARK)
    assert [each.name for each in tmp_path.iterdir()] == ["lamp.case"]


def test_a_lock_ends_when_it_is_released(tmp_path: Path) -> None:
    """By whatever name the file was opened."""
    (tmp_path / "file").touch()
    (tmp_path / "link").symlink_to(tmp_path / "file")
    lock = Lock(tmp_path / "file")
    with pytest.raises(InUse):
        Lock(tmp_path / "link")
    lock.release()
    lock.release()
    Lock(tmp_path / "link").release()


def test_a_share_without_locks_is_not_taken_for_somebody_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the system says of the disk is told as it is."""

    def no_locks(handle: int) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    (tmp_path / "file").touch()
    monkeypatch.setattr("diagnose.cases.lock._lock", no_locks)
    with pytest.raises(OSError, match="No locks available"):
        Lock(tmp_path / "file")
