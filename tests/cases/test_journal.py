"""An answer is on the disk before the next question, and a journal survives what happens to disks."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import msgspec
import pytest

from diagnose.bounded import JOURNAL
from diagnose.cases.events import Note, SheetFilled
from diagnose.cases.journal import Journal, case_folder
from diagnose.errors import BadInput
from diagnose.observations import CheckDone, FindingSeen, Measurement

DARK = FindingSeen(finding="lamp-dark", present=True, quote="no light")
WHOLE = CheckDone(check="look-at-bulb", answer="whole")


def started(folder: Path) -> Path:
    """Keep a case of two answers and return its file."""
    with Journal.start(folder, {"place": "inside"}, "lamp") as journal:
        journal.add(1, DARK)
        journal.add(2, WHOLE, Note(text="warm\nand dusty"))
        return journal.path


def test_every_event_is_on_the_disk_when_add_returns(tmp_path: Path) -> None:
    """Read by somebody else at that moment, the file holds one whole line more for each event."""
    with Journal.start(tmp_path, {}, "lamp") as journal:
        assert journal.path.read_bytes().count(b"\n") == 1
        journal.add(1, DARK)
        assert journal.path.read_bytes().count(b"\n") == 2
        assert b'"lamp-dark"' in journal.path.read_bytes().splitlines()[-1]
        journal.add(2, WHOLE, Measurement(quantity="voltage", value=2.0))
        assert journal.path.read_bytes().count(b"\n") == 4
        assert journal.path.read_bytes().endswith(b"\n")


def test_what_is_written_reaches_the_disk_and_not_only_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The system is told to put each answer through to the disk before the next question."""
    synced: list[int] = []
    monkeypatch.setattr(os, "fsync", synced.append)
    with Journal.start(tmp_path, {}, "lamp") as journal:
        journal.add(1, DARK)
        journal.add(2, WHOLE, Note(text="x"))
    assert len(synced) == 4  # the first line, the name of the file in its folder, and two answers


def test_a_resumed_case_is_the_case_that_was_left(tmp_path: Path) -> None:
    """Data sheet, turns, times and words come back, line ends in notes too."""
    path = started(tmp_path)
    with Journal.resume(tmp_path, "lamp") as journal:
        assert journal.head.data_sheet == {"place": "inside"}
        assert [(entry.turn, entry.event) for entry in journal.entries] == [
            (1, DARK),
            (2, WHOLE),
            (2, Note(text="warm\nand dusty")),
        ]
        assert journal.new_turn() == 3
        assert all(entry.at for entry in journal.entries)
    with Journal.resume(tmp_path, str(path)) as by_file:
        assert len(by_file.entries) == 3


def test_a_whole_last_line_without_its_end_is_kept(tmp_path: Path) -> None:
    """Only the line end was lost: the answer was not."""
    path = started(tmp_path)
    path.write_bytes(path.read_bytes()[:-1])
    with Journal.resume(tmp_path, "lamp") as journal:
        assert len(journal.entries) == 3
        journal.add(3, SheetFilled(field="power", value=60.0))
    with Journal.resume(tmp_path, "lamp") as journal:
        assert [entry.event for entry in journal.entries[2:]] == [
            Note(text="warm\nand dusty"),
            SheetFilled(field="power", value=60.0),
        ]


def test_an_answer_that_was_cut_off_is_dropped_with_all_of_its_lines(tmp_path: Path) -> None:
    """Wherever a power failure cut it off, half of an answer is none; the case goes on from the last whole one."""
    path = started(tmp_path)
    whole = path.read_bytes()
    begins = sum(len(line) for line in whole.splitlines(keepends=True)[:2])
    for end in range(begins, len(whole) - 1):
        path.write_bytes(whole[:end])
        assert [entry.event for entry in Journal.read(tmp_path, "lamp").entries] == [DARK]
        with Journal.resume(tmp_path, "lamp") as journal:
            assert [entry.event for entry in journal.entries] == [DARK]
            journal.add(2, SheetFilled(field="power", value=60.0))
        with Journal.resume(tmp_path, "lamp") as journal:
            assert [entry.event for entry in journal.entries] == [DARK, SheetFilled(field="power", value=60.0)]


def test_a_case_kept_before_answers_said_where_they_end(tmp_path: Path) -> None:
    """Each of its lines counts for itself."""
    path = started(tmp_path)
    path.write_bytes(path.read_bytes().replace(b',"more":true', b"")[:-2])
    with Journal.resume(tmp_path, "lamp") as journal:
        assert [entry.event for entry in journal.entries] == [DARK, WHOLE]


DAMAGE = {
    "no UTF-8": b'{"turn":1,"at":"","event":{"kind":"note","text":"\xff\xfe"}}',
    "nested without end": b'{"turn":1,"at":"","event":' + b"[" * 100_000,
    "no JSON": b"\x00\x00\x00\x00",
    "an unknown event": b'{"turn":1,"at":"","event":{"kind":"dance"}}',
    "a field missing": b'{"turn":1,"event":{"kind":"note","text":"x"}}',
    "an empty line": b"",
    "a large figure that looks small": b'{"turn":1,"at":"","event":{"kind":"measured","quantity":"x","value":1e0308}}',
    "a figure that nobody measured": b'{"turn":1,"at":"","event":{"kind":"measured","quantity":"x","value":1e308}}',
}


@pytest.mark.parametrize("line", DAMAGE.values(), ids=DAMAGE)
def test_a_damaged_middle_line_is_told_with_file_and_line(tmp_path: Path, line: bytes) -> None:
    """Nothing is guessed: somebody is told where to look, and the file stays as it is."""
    path = started(tmp_path)
    lines = path.read_bytes().splitlines()
    lines[2] = line
    damaged = b"\n".join(lines) + b"\n"
    path.write_bytes(damaged)
    with pytest.raises(BadInput) as raised:
        Journal.resume(tmp_path, "lamp")
    assert str(raised.value).startswith(f"{path}:3: the line cannot be read")
    assert path.read_bytes() == damaged


def test_control_characters_of_somebody_elses_case_become_visible(tmp_path: Path) -> None:
    """In names, words and figures' words alike; the file stays as it is, and line ends in notes are no danger."""
    path = started(tmp_path)
    written = (
        path.read_bytes().replace(b"lamp-dark", b"\\u001b[2J").replace(b"no light", b"\\r\\b" + "\u202ex\x9b".encode())
    )
    written = written.replace(b'"case":"lamp"', b'"case":"\\u0000"').replace(b'"inside"', b'"\\u0007"')
    path.write_bytes(written)
    with Journal.resume(tmp_path, "lamp") as journal:
        assert (journal.head.case, journal.head.data_sheet) == ("\\x00", {"place": "\\x07"})
        assert [entry.event for entry in journal.entries] == [
            FindingSeen(finding="\\x1b[2J", present=True, quote="\\r\\x08\\u202ex\\x9b"),
            WHOLE,
            Note(text="warm\nand dusty"),
        ]
    assert path.read_bytes() == written


def test_a_mended_journal_opens(tmp_path: Path) -> None:
    """The refused attempt leaves nothing locked behind."""
    path = started(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"kind":"check"', b'"kind":"chick"'))
    with pytest.raises(BadInput) as raised:
        Journal.resume(tmp_path, "lamp")
    path.write_bytes(whole)
    with Journal.resume(tmp_path, "lamp") as journal:
        assert len(journal.entries) == 3
    assert ":3:" in str(raised.value)


NO_JOURNALS = {
    "empty": (b"", "is empty"),
    "torn in its first line": (b'{"format":"case/1","case":"la', "was cut off in its first line"),
    "random bytes": (bytes(range(128, 256)), ":1: not the journal of a case"),
    "nested without end": (b"[" * 100_000, ":1: not the journal of a case"),
    "somebody else's file": (b"display dark\n", ":1: not the journal of a case"),
    "of a later program": (b'{"format":"case/9","case":"lamp","started":""}\n', "has the format `case/9`"),
}


@pytest.mark.parametrize(("content", "told"), NO_JOURNALS.values(), ids=NO_JOURNALS)
def test_what_is_no_journal_is_refused(tmp_path: Path, content: bytes, told: str) -> None:
    """A file that is no journal is told to be none."""
    (tmp_path / "lamp.case").write_bytes(content)
    with pytest.raises(BadInput) as raised:
        Journal.resume(tmp_path, "lamp")
    assert told in str(raised.value)


def test_two_interviews_on_one_case_are_refused(tmp_path: Path) -> None:
    """The second is told to wait until the first is closed."""
    started(tmp_path)
    with Journal.resume(tmp_path, "lamp"), pytest.raises(BadInput, match="is open in another interview"):
        Journal.resume(tmp_path, "lamp")
    with Journal.resume(tmp_path, "lamp") as journal:
        assert len(journal.entries) == 3


def test_a_case_that_is_open_cannot_be_opened_through_a_link(tmp_path: Path) -> None:
    """Whatever it is called there, it is the same case."""
    path = started(tmp_path)
    (tmp_path / "linked.case").symlink_to(path)
    with Journal.resume(tmp_path, "lamp"), pytest.raises(BadInput, match="is open in another interview"):
        Journal.resume(tmp_path, "linked")
    with Journal.resume(tmp_path, "linked"), pytest.raises(BadInput, match="is open in another interview"):
        Journal.resume(tmp_path, "lamp")


def test_a_case_with_another_name_is_not_opened(tmp_path: Path) -> None:
    """By that name it might be open elsewhere, and nobody could tell."""
    path = started(tmp_path)
    os.link(path, tmp_path / "twin.case")
    with pytest.raises(BadInput, match="has another name"):
        Journal.resume(tmp_path, "twin")


def test_a_case_that_is_not_there(tmp_path: Path) -> None:
    """The latest cases are named, in case it was one of those."""
    started(tmp_path)
    with pytest.raises(BadInput, match=r"there is no case .*lmap.case; the latest are: lamp"):
        Journal.resume(tmp_path, "lmap")


def test_cases_of_the_same_second_have_names_of_their_own(tmp_path: Path) -> None:
    """No case is ever written into another."""
    with Journal.start(tmp_path, {}, "lamp") as one, Journal.start(tmp_path, {}, "lamp") as two:
        assert (one.path.name, two.path.name) == ("lamp.case", "lamp-2.case")


def test_cases_that_start_at_the_same_moment_have_files_of_their_own(tmp_path: Path) -> None:
    """Eight programs under one name: the file is made and taken in one go."""
    start = (
        "import sys, pathlib; from diagnose.cases.journal import Journal; sys.stdin.readline();"
        "j = Journal.start(pathlib.Path(sys.argv[1]), {}, 'lamp'); print(j.path.name); j.close()"
    )
    jobs = [
        subprocess.Popen([sys.executable, "-c", start, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        for _ in range(8)
    ]
    for job in jobs:
        assert job.stdin is not None
        job.stdin.write(b"go\n")
        job.stdin.flush()
    names = {job.communicate()[0].decode().strip() for job in jobs}
    assert len(names) == 8
    assert all((tmp_path / name).read_bytes().count(b"\n") == 1 for name in names)


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path: Path) -> None:
    """Nor one that leads to a file of somebody else's."""
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "lamp.case").symlink_to(tmp_path / "elsewhere")
    with Journal.start(tmp_path / "cases", {}, "lamp") as journal:
        assert journal.path.name == "lamp-2.case"
    assert not (tmp_path / "elsewhere").exists()


def test_only_the_user_can_read_a_case(tmp_path: Path) -> None:
    """Tickets hold names and plants."""
    with Journal.start(tmp_path / "cases", {}, "lamp") as journal:
        assert journal.path.stat().st_mode & 0o777 == 0o600
        assert journal.path.parent.stat().st_mode & 0o777 == 0o700


def test_a_case_that_vanished_is_not_begun_anew(tmp_path: Path) -> None:
    """Without its first line nothing could be read of it."""
    with Journal.start(tmp_path, {}, "lamp") as journal:
        journal.path.unlink()
        with pytest.raises(BadInput, match="could not be saved"):
            journal.add(1, DARK)
        assert not journal.path.exists()


def test_a_file_of_gigabytes_is_no_case(tmp_path: Path) -> None:
    """It is refused before it is read."""
    with (tmp_path / "lamp.case").open("wb") as file:
        file.truncate(5_000_000_000)
    with pytest.raises(BadInput, match="it is not a case"):
        Journal.resume(tmp_path, "lamp")


@pytest.mark.parametrize("at", ["", "yesterday", "2026-03-01T10:00:00"])
def test_a_time_that_nobody_can_read_was_long_ago(tmp_path: Path, at: str) -> None:
    """So the cautions are read anew."""
    path = started(tmp_path)
    lines = [msgspec.json.decode(line) for line in path.read_bytes().splitlines()]
    lines[-1]["at"] = at
    path.write_bytes(b"".join(msgspec.json.encode(line) + b"\n" for line in lines))
    with Journal.resume(tmp_path, "lamp") as journal:
        assert journal.idle() == timedelta.max


def test_a_name_cannot_lead_out_of_the_folder(tmp_path: Path) -> None:
    """Slashes and dots of a name become hyphens."""
    with Journal.start(tmp_path, {}, "../../etc/passwd") as journal:
        assert journal.path == tmp_path / "etc-passwd.case"


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    """The system's reason is told, and what to do."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match=r"cannot be kept in .*DIAGNOSE_CASES"):
        Journal.start(tmp_path / "file" / "cases", {})


def test_a_full_disk_is_told_and_the_answer_does_not_count(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What could not be saved was not answered, and does not spoil the answer that is given again."""

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    with Journal.start(tmp_path, {}, "lamp") as journal:
        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(BadInput, match=r"could not be saved in .*No space left on device"):
            journal.add(1, DARK)
        assert journal.entries == []
        assert journal.path.read_bytes().count(b"\n") == 1
        monkeypatch.undo()
        journal.add(1, WHOLE)
    with Journal.resume(tmp_path, "lamp") as journal:
        assert [entry.event for entry in journal.entries] == [WHOLE]


def test_where_cases_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The environment decides, else the user's folder for data."""
    monkeypatch.setenv("DIAGNOSE_CASES", str(tmp_path))
    assert case_folder() == tmp_path
    monkeypatch.delenv("DIAGNOSE_CASES")
    assert case_folder().name == "cases"


def test_no_case_grows_longer_than_can_be_read_again(tmp_path: Path) -> None:
    """What would make it longer is refused before it is written."""
    with Journal.start(tmp_path, {}, "lamp") as journal:
        journal.add(1, Note(text="x" * (JOURNAL.most - 1_000)))
        before = journal.path.read_bytes()
        with pytest.raises(BadInput, match="longer than 10 MB"):
            journal.add(2, Note(text="y" * 1_000))
        assert journal.path.read_bytes() == before
    with Journal.resume(tmp_path, "lamp") as journal:
        assert len(journal.entries) == 1
