"""Files that belong to a case: kept by what they hold, named as they were, never believed."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from diagnose.bounded import ATTACHMENT, PICTURE_BYTES, TooLong
from diagnose.cases.attached_files import attach, folder_of, kept_files
from diagnose.cases.events import Attached, Case
from diagnose.cases.journal import Journal
from diagnose.errors import BadInput
from tests.documents.case_files import PIXEL


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    """Return the journal of a case that was just begun."""
    opened = Journal.start(tmp_path / "cases", {}, "desk")
    opened.close()
    return opened


def put(tmp_path: Path, name: str, data: bytes) -> Path:
    """Return a file that somebody has."""
    path = tmp_path / name
    path.write_bytes(data)
    return path


def attached(journal: Journal, *paths: Path, **said: str) -> Case:
    """Attach files, and return the case as it then stands on disk."""
    with Journal.resume(journal.path.parent, "desk") as opened:
        attach(opened, paths, **said)
    return Journal.read(journal.path.parent, "desk")


def test_a_file_is_kept_under_its_hash_and_named_as_it_was(journal: Journal, tmp_path: Path) -> None:
    """Only its user can read it."""
    case = attached(journal, put(tmp_path, "wet box.PNG", PIXEL), note="water", by="M. Invented")
    (kept,) = kept_files(journal.path, case)
    assert kept.attached == Attached(
        name="wet box.PNG", sha256=hashlib.sha256(PIXEL).hexdigest(), size=len(PIXEL), note="water", by="M. Invented"
    )
    assert kept.path == folder_of(journal.path) / f"{kept.attached.sha256}.png"
    assert (kept.path.read_bytes(), kept.kept, kept.picture, kept.data) == (PIXEL, "as attached", "image/png", PIXEL)
    assert (kept.path.stat().st_mode & 0o777, kept.path.parent.stat().st_mode & 0o777) == (0o600, 0o700)


def test_the_same_file_twice_is_once(journal: Journal, tmp_path: Path) -> None:
    """Also under another name; what was said of it last holds."""
    one, other = put(tmp_path, "a.png", PIXEL), put(tmp_path, "b.png", PIXEL)
    attached(journal, one, one)
    case = attached(journal, one)
    assert len(case.entries) == 1
    case = attached(journal, other, note="closer")
    assert [each.attached.note for each in kept_files(journal.path, case)] == ["closer"]
    assert len(list(folder_of(journal.path).iterdir())) == 1


def test_a_file_that_was_changed_or_is_gone_is_told(journal: Journal, tmp_path: Path) -> None:
    """It is not shown as what was attached; attached again it is put right."""
    path = put(tmp_path, "a.png", PIXEL)
    case = attached(journal, path)
    (kept,) = kept_files(journal.path, case)
    kept.path.write_bytes(PIXEL + b"x")
    assert [(each.kept, each.data) for each in kept_files(journal.path, case)] == [("changed", b"")]
    kept.path.unlink()
    assert [each.kept for each in kept_files(journal.path, case)] == ["missing"]
    attached(journal, path)
    assert [each.kept for each in kept_files(journal.path, case)] == ["as attached"]


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (b"\xff\xd8\xff\xe0 a photo", "image/jpeg"),
        (b"GIF89a", "image/gif"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "image/webp"),
        (b"RIFF\x10\0\0\0WAVEfmt ", ""),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", ""),
        (b"<html>", ""),
        (PIXEL + b"\0" * PICTURE_BYTES, ""),
        (b"", ""),
    ],
)
def test_a_picture_is_known_by_what_it_holds(data: bytes, kind: str, journal: Journal, tmp_path: Path) -> None:
    """Whatever its name says; what may hold a script, and what is large, is never shown."""
    (kept,) = kept_files(journal.path, attached(journal, put(tmp_path, "photo.png", data)))
    assert (kept.picture, bool(kept.data)) == (kind, bool(kind))


@pytest.mark.parametrize("name", ["..", "a/../../b", "x" * 200 + ".png", "\x1b[2J.png", "a.p/ng", "a.<b>"])
def test_a_name_leads_nowhere(name: str, journal: Journal, tmp_path: Path) -> None:
    """Not from a journal that somebody else wrote either."""
    with Journal.resume(journal.path.parent, "desk") as opened:
        opened.add(1, Attached(name=name, sha256="../" * 20 + "etc/passwd", size=1))
    (kept,) = kept_files(journal.path, Journal.read(journal.path.parent, "desk"))
    assert kept.path.parent == folder_of(journal.path)
    assert kept.kept == "missing"


def test_what_cannot_be_read_attaches_nothing(journal: Journal, tmp_path: Path) -> None:
    """None of several files, where one of them is not there, or is too long."""
    good = put(tmp_path, "a.png", PIXEL)
    with pytest.raises(BadInput):
        attached(journal, good, tmp_path / "nowhere.png")
    long = tmp_path / "long.bin"
    with long.open("wb") as file:
        file.truncate(ATTACHMENT.most + 1)
    with pytest.raises(TooLong):
        attached(journal, good, long)
    assert Journal.read(journal.path.parent, "desk").entries == ()
    assert not folder_of(journal.path).exists()


def test_a_folder_that_is_a_link_is_not_written_to(journal: Journal, tmp_path: Path) -> None:
    """It would lead elsewhere; nor is a link in it read."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    folder_of(journal.path).symlink_to(elsewhere)
    path = put(tmp_path, "a.png", PIXEL)
    with pytest.raises(BadInput, match="is a link"):
        attached(journal, path)
    assert list(elsewhere.iterdir()) == []
    folder_of(journal.path).unlink()
    case = attached(journal, path)
    (kept,) = kept_files(journal.path, case)
    kept.path.unlink()
    kept.path.symlink_to(path)
    assert [each.kept for each in kept_files(journal.path, case)] == ["changed"]


def test_two_programs_attach_one_after_the_other(journal: Journal, tmp_path: Path) -> None:
    """A case that is open elsewhere takes nothing."""
    with Journal.resume(journal.path.parent, "desk"), pytest.raises(BadInput, match="open"):
        attached(journal, put(tmp_path, "a.png", PIXEL))
    assert os.listdir(journal.path.parent) == ["desk.case"]
