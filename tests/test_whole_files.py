"""Files are written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.whole_files import write_whole


def left_in(folder: Path) -> dict[str, bytes]:
    """Return what stands in a folder, hidden files too."""
    return {each.name: each.read_bytes() for each in folder.iterdir()}


def test_what_stood_there_stays_until_the_new_one_is_complete(tmp_path: Path) -> None:
    """Whatever fails, and however late; nothing is left beside it."""

    def broken() -> Iterator[bytes]:
        yield b"half"
        raise RuntimeError("no more")

    (tmp_path / "lamp").write_bytes(b"before")
    with pytest.raises(RuntimeError, match="no more"):
        write_whole(tmp_path / "lamp", broken())
    assert left_in(tmp_path) == {"lamp": b"before"}
    write_whole(tmp_path / "lamp", [b"af", b"ter"])
    assert left_in(tmp_path) == {"lamp": b"after"}


def test_a_new_file_is_never_written_over_another(tmp_path: Path) -> None:
    """Not even over a link that leads nowhere."""
    (tmp_path / "lamp").write_bytes(b"theirs")
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    for name in ("lamp", "link"):
        with pytest.raises(FileExistsError):
            write_whole(tmp_path / name, [b"ours"], anew=True)
    (tmp_path / "link").unlink()
    assert left_in(tmp_path) == {"lamp": b"theirs"}


def test_a_new_file_that_fails_at_the_end_takes_no_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The name that was kept for it is free again."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(tmp_path / "lamp", [b"ours"], anew=True)
    assert left_in(tmp_path) == {}


def test_its_rights_are_those_that_were_asked_for(tmp_path: Path) -> None:
    """Less what the mask of the user takes away."""
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "open", [b""])
        write_whole(tmp_path / "private", [b""], mode=0o600)
    finally:
        os.umask(before)
    rights = {each.name: each.stat().st_mode & 0o777 for each in tmp_path.iterdir()}
    assert rights == {"open": 0o640, "private": 0o600}


def test_a_pipe_in_the_place_of_a_file_of_ours_is_replaced(tmp_path: Path) -> None:
    """Nobody waits until somebody reads it: the program once stood still there for ever."""
    os.mkfifo(tmp_path / "lamp")
    write_whole(tmp_path / "lamp", [b"ours"])
    assert left_in(tmp_path) == {"lamp": b"ours"}


def test_a_pipe_that_a_person_names_is_written_to(tmp_path: Path) -> None:
    """And stays what it is."""
    os.mkfifo(tmp_path / "lamp")
    reader = os.open(tmp_path / "lamp", os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_whole(tmp_path / "lamp", [b"ou", b"rs"], devices=True)
        assert os.read(reader, 100) == b"ours"
    finally:
        os.close(reader)
    assert (tmp_path / "lamp").is_fifo()
