"""However much comes, only so much of it is read: devices, endless pipes, sparse files, folders of everything."""

from __future__ import annotations

import io
import os
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose import bounded
from diagnose.bounded import Limit, TooLong, copy_stream, files_below, read_file, read_stream
from diagnose.errors import BadInput

LIMIT = Limit("report", 5_000, "cut it")


class Endless(io.RawIOBase):
    """A stream that never ends, and counts what is taken of it."""

    taken = 0

    def readable(self) -> bool:
        """It is there to be read."""
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        """Fill whatever there is room for."""
        buffer[:] = b"y" * len(buffer)
        self.taken += len(buffer)
        return len(buffer)


def test_what_is_as_long_as_the_limit_is_read(tmp_path: Path) -> None:
    """One byte more is not."""
    path = tmp_path / "report.txt"
    path.write_bytes(b"x" * 5_000)
    assert len(read_file(path, LIMIT)) == 5_000
    path.write_bytes(b"x" * 5_001)
    with pytest.raises(TooLong, match=r"the report .*report\.txt is longer than 5 kB, .*; cut it"):
        read_file(path, LIMIT)


def test_a_stream_without_end_is_left_at_the_limit() -> None:
    """No more is taken of it than the limit and what is read ahead."""
    stream = Endless()
    with pytest.raises(TooLong, match="longer than 5 kB"):
        read_stream(io.BufferedReader(stream), LIMIT, "report")
    assert stream.taken <= 5_000 + 2 * io.DEFAULT_BUFFER_SIZE


def test_a_stream_without_end_is_not_copied_further_than_the_limit(tmp_path: Path) -> None:
    """What is put on disk first is no longer than what may be read."""
    with (tmp_path / "kept").open("wb") as kept, pytest.raises(TooLong, match="longer than 3 MB"):
        copy_stream(io.BufferedReader(Endless()), kept, Limit("log", 3_000_000, "split it"), "log")
    assert (tmp_path / "kept").stat().st_size <= 3_000_000


def test_a_device_is_left_at_the_limit() -> None:
    """It has no size to be asked for beforehand."""
    with pytest.raises(TooLong):
        read_file(Path("/dev/zero"), LIMIT)


def test_a_file_of_gigabytes_is_left_at_the_limit(tmp_path: Path) -> None:
    """Holes in a file cost nothing on the disk, and would in memory."""
    with (tmp_path / "sparse").open("wb") as file:
        file.truncate(5_000_000_000)
    with pytest.raises(TooLong):
        read_file(tmp_path / "sparse", LIMIT)


def test_a_folder_that_cannot_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Passed over, it would look as if nothing stood in it; a folder that is not there holds nothing."""
    (tmp_path / "sub").mkdir()
    listed = os.scandir

    def refusing(path: str) -> Any:
        if str(path).endswith("sub"):
            raise PermissionError(13, "Permission denied", path)
        return listed(path)

    monkeypatch.setattr(os, "scandir", refusing)
    with pytest.raises(BadInput, match=r"the folder .*sub cannot be read: Permission denied"):
        bounded.files_below(tmp_path, "*.yaml")
    assert bounded.files_below(tmp_path / "nowhere", "*.yaml") == []


def test_a_named_pipe_is_read_to_its_end(tmp_path: Path) -> None:
    """What somebody writes there is a report like any other."""
    os.mkfifo(tmp_path / "pipe")
    writer = threading.Thread(target=lambda: (tmp_path / "pipe").write_bytes(b"dark"))
    writer.start()
    assert read_file(tmp_path / "pipe", LIMIT) == b"dark"
    writer.join()


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    """Told with the reason that the system gives."""
    with pytest.raises(BadInput, match=r"the report .* cannot be read: "):
        read_file(tmp_path, LIMIT)


class TestFolders:
    """A folder of rules or cases is not the whole disk."""

    def test_files_at_any_depth_are_found_in_order(self, tmp_path: Path) -> None:
        """By their names; other files stay out."""
        for name in ("b/c/x.yaml", "a/y.yaml", "z.yaml", "b/notes.txt"):
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name).touch()
        found = [path.relative_to(tmp_path).as_posix() for path in files_below(tmp_path, "*.yaml")]
        assert found == ["a/y.yaml", "b/c/x.yaml", "z.yaml"]

    def test_too_many_files(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Whatever their names are."""
        monkeypatch.setattr(bounded, "FOLDER_FILES", 3)
        for number in range(4):
            (tmp_path / f"{number}.txt").touch()
        with pytest.raises(TooLong, match="more than 3 files"):
            files_below(tmp_path, "*.yaml")

    def test_too_many_bytes(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Each may be small enough by itself."""
        monkeypatch.setattr(bounded, "FOLDER_BYTES", 3_000_000)
        for number in range(4):
            (tmp_path / f"{number}.yaml").write_bytes(b"#" * 900_000)
        with pytest.raises(TooLong, match="more than 3 MB together"):
            files_below(tmp_path, "*.yaml")

    def test_a_link_that_leads_round_in_a_circle(self, tmp_path: Path) -> None:
        """It is followed once at most."""
        (tmp_path / "part").mkdir()
        (tmp_path / "part" / "x.yaml").touch()
        (tmp_path / "part" / "round").symlink_to(tmp_path)
        assert [path.name for path in files_below(tmp_path, "*.yaml")] == ["x.yaml"]


def _reads_of(source: str) -> Iterator[str]:
    for line in source.splitlines():
        if any(each in line for each in (".read_bytes()", ".read_text(", "stdin.read(", "buffer.read(", "readlines(")):
            yield line.strip()


def test_nothing_is_read_whole_but_here() -> None:
    """Whoever needs a file or a stream asks for it with its limit; the program's own cache and code are no input."""
    package = Path(bounded.__file__).parent
    found = {
        (path.relative_to(package).as_posix(), line)
        for path in package.rglob("*.py")
        for line in _reads_of(path.read_text(encoding="utf-8"))
    }
    assert {path for path, _ in found} <= {"rule_book/cache.py"}, found
