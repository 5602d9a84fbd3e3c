"""Cases travel with their files; what is not what was attached stays behind, and no name leads anywhere."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.cases.archive import CASES, opened, write_archive
from diagnose.cases.attached_files import attach, kept_files, take_in
from diagnose.cases.events import Attached, Case
from diagnose.cases.exchange import case_in, passed_on
from diagnose.cases.journal import Journal
from diagnose.errors import BadInput
from tests.cases.any_events import DARK

PHOTO = b"\x89PNG\r\n\x1a\n a photo"
HASH = hashlib.sha256(PHOTO).hexdigest()


def lamp(folder: Path) -> Path:
    """Keep a case with a photo; return its journal."""
    (folder / "photo.png").write_bytes(PHOTO)
    with Journal.start(folder / "cases", {}, "lamp") as journal:
        journal.add(1, DARK)
        attach(journal, [folder / "photo.png"])
    return journal.path


def archive(folder: Path, journal: Path) -> Path:
    """Return an archive of a case."""
    path = folder / "cases.zip"
    with path.open("wb") as file:
        assert write_archive(file, [(journal, passed_on(journal))]) == []
    return path


def test_the_same_cases_make_the_same_archive(tmp_path: Path) -> None:
    """With each file once, by its hash."""
    journal = lamp(tmp_path)
    first = archive(tmp_path, journal).read_bytes()
    assert archive(tmp_path, journal).read_bytes() == first
    with zipfile.ZipFile(io.BytesIO(first)) as members:
        assert members.namelist() == [CASES, f"files/{HASH}"]


def test_what_goes_out_comes_in(tmp_path: Path) -> None:
    """The case as it was, the file as it was attached; twice in is once."""
    journal = lamp(tmp_path)
    with opened(archive(tmp_path, journal)) as found:
        case = case_in(found.cases().read())
        (event,) = (each.event for each in case.entries if isinstance(each.event, Attached))
        other = tmp_path / "elsewhere" / "lamp.case"
        other.parent.mkdir()
        assert take_in(other, event, found.file(event)) is True
        assert take_in(other, event, found.file(event)) is False
    assert case == passed_on(journal)
    (file,) = kept_files(other, Case(entries=tuple(each.entry for each in case.entries)))
    assert (file.kept, file.data) == ("as attached", PHOTO)


def test_a_file_that_is_gone_or_changed_is_told_and_the_case_goes_out(tmp_path: Path) -> None:
    """Without it."""
    journal = lamp(tmp_path)
    (kept,) = (tmp_path / "cases" / "lamp.files").iterdir()
    for change, told in ((lambda: kept.write_bytes(b"x"), "not what was attached"), (kept.unlink, "is missing")):
        change()
        target = io.BytesIO()
        (wrong,) = write_archive(target, [(journal, passed_on(journal))])
        assert wrong.startswith("photo.png of lamp: ")
        assert told in wrong
        assert zipfile.ZipFile(target).namelist() == [CASES]


def made(folder: Path, *members: tuple[str, bytes]) -> Path:
    """Return an archive that somebody else made."""
    path = folder / "theirs.zip"
    with zipfile.ZipFile(path, "w") as members_of:
        for name, data in members:
            members_of.writestr(name, data)
    return path


@pytest.mark.parametrize(
    ("members", "told"),
    [
        ([], "does not have it"),
        ([(f"files/{HASH}", b"something else")], "not what was attached"),
        ([(f"../files/{HASH}", PHOTO), (f"/files/{HASH}", PHOTO), ("files/photo.png", PHOTO)], "does not have it"),
    ],
)
def test_only_what_was_attached_is_taken(members: list[tuple[str, bytes]], told: str, tmp_path: Path) -> None:
    """Whatever it is called."""
    event = Attached(name="../../photo.png", sha256=HASH, size=len(PHOTO))
    with opened(made(tmp_path, *members)) as found, pytest.raises(BadInput, match=told):
        found.file(event)


def test_a_name_leads_nowhere(tmp_path: Path) -> None:
    """Neither that of a file nor what stands in place of a hash."""
    journal = tmp_path / "in" / "cases" / "lamp.case"
    journal.parent.mkdir(parents=True)
    for event in (
        Attached(name="../../../x.png", sha256=HASH, size=1),
        Attached(name="x", sha256="../../../../y", size=1),
    ):
        take_in(journal, event, PHOTO)
    written = [each.relative_to(tmp_path) for each in tmp_path.rglob("*") if each.is_file()]
    assert all(each.parts[:3] == ("in", "cases", "lamp.files") for each in written)
    assert len(written) == 2


def _cut(data: bytes) -> bytes:
    return data[: len(data) // 2]


def _spoilt(data: bytes) -> bytes:
    return data[:60] + bytes(each ^ 0x55 for each in data[60:90]) + data[90:]


@pytest.mark.parametrize("damage", [_cut, _spoilt, lambda _: b"", lambda _: b"no archive at all"])
def test_what_is_damaged_is_refused(damage: Callable[[bytes], bytes], tmp_path: Path) -> None:
    """With its name, wherever it is damaged."""
    path = archive(tmp_path, lamp(tmp_path))
    path.write_bytes(damage(path.read_bytes()))
    with pytest.raises(BadInput, match=r"archive"), opened(path) as found, found.cases() as lines:
        lines.read()


def test_an_archive_without_cases_is_none_of_ours(tmp_path: Path) -> None:
    """Nor is one that is not there."""
    with opened(made(tmp_path, ("a.txt", b"a"))) as found, pytest.raises(BadInput, match="none of `diagnose cases`"):
        found.cases()
    with pytest.raises(BadInput, match="cannot be read"), opened(tmp_path / "gone.zip"):
        pass
