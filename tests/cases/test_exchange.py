"""Cases passed on and taken over: as they were, once, and nothing else is touched."""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import JOURNAL
from diagnose.cases.events import Event, Note
from diagnose.cases.exchange import (
    BadRow,
    Importer,
    Passed,
    PlainRow,
    case_in,
    case_of_row,
    lines_of,
    passed_on,
    row_of,
)
from diagnose.cases.journal import Journal, journals, name_as_kept
from diagnose.documents.csv_cells import read, written
from diagnose.errors import BadInput
from tests.cases.any_events import DARK, SHEET, TURNS, after_turns

AT = "2026-01-01T08:00:00+00:00"


def exported(folder: Path) -> list[bytes]:
    """Return the cases of a folder as they are passed on."""
    return [msgspec.json.encode(passed_on(path)) for path in journals(folder)]


def case(name: str = "lamp", *turns: Event, started: str = AT) -> Passed:
    """Return a case of these answers as it is passed on."""
    entries = [{"turn": turn, "at": AT, "event": msgspec.to_builtins(each)} for turn, each in enumerate(turns, 1)]
    text = msgspec.json.encode({"format": "case/6", "case": name, "started": started, "entries": entries})
    return case_in(text)


@settings(max_examples=40, deadline=None)
@given(st.lists(TURNS, max_size=3))
def test_what_comes_in_is_what_went_out(cases: list[list[list[Event] | str]]) -> None:
    """Exported, imported and exported again: the same, by lines and by rows, and taken twice it is there once."""
    with tempfile.TemporaryDirectory() as name:
        first, second, third = (Path(name) / each for each in ("first", "second", "third"))
        first.mkdir()
        for turns in cases:
            with Journal.start(first, SHEET, "lamp", "a rule book") as journal:
                for entry in after_turns(turns).entries:
                    journal.add(entry.turn, entry.event)
        lines = exported(first)
        for _ in range(2):
            importer = Importer(second)
            for line in lines:
                importer.take(case_in(line))
            assert exported(second) == lines
        rows = [{column: written(value) for column, value in row_of(case_in(line)).items()} for line in lines]
        for row in rows:
            Importer(third).take(case_in(read(row["journal"])))
        assert exported(third) == lines


def test_what_went_on_elsewhere_is_added(tmp_path: Path) -> None:
    """And what is behind what is here changes nothing."""
    importer = Importer(tmp_path)
    assert importer.take(case("lamp", DARK)) == "new"
    assert importer.take(case("lamp", DARK, Note(text="x"))) == "added to"
    whole = exported(tmp_path)
    assert importer.take(case("lamp", DARK)) == "there already"
    assert exported(tmp_path) == whole
    assert len(Journal.read(tmp_path, "lamp").entries) == 2


def test_an_interview_that_goes_on_meanwhile_is_mixed_with_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was answered here between reading the case and writing it is kept alone; what is open is left alone."""
    importer = Importer(tmp_path)
    importer.take(case("lamp", DARK))
    resume = Journal.resume

    def answered_first(folder: Path, name: str) -> Journal:
        monkeypatch.undo()
        with resume(folder, name) as journal:
            journal.add(2, Note(text="said here"))
        return resume(folder, name)

    monkeypatch.setattr(Journal, "resume", answered_first)
    with pytest.raises(BadInput, match="was gone on with here just now"):
        importer.take(case("lamp", DARK, Note(text="said there"), Note(text="and there")))
    kept = Journal.read(tmp_path, "lamp")
    assert [each.event for each in kept.entries] == [DARK, Note(text="said here")]
    importer.take(case("open", DARK))
    with Journal.resume(tmp_path, "open"), pytest.raises(BadInput, match="open in another interview"):
        importer.take(case("open", DARK, Note(text="said there")))


def test_a_name_that_somebody_takes_meanwhile_is_left_to_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing of the case that came in is left."""
    importer = Importer(tmp_path)

    def theirs(path: Path) -> None:
        Path(path).write_text("theirs", encoding="utf-8")
        raise FileNotFoundError

    monkeypatch.setattr("diagnose.cases.exchange.read_journal", theirs)
    with pytest.raises(BadInput, match="somebody else has just taken the name lamp"):
        importer.take(case("lamp", DARK))
    assert [(each.name, each.read_text()) for each in tmp_path.iterdir()] == [("lamp.case", "theirs")]


def test_another_case_of_the_same_name_gets_a_name_of_its_own(tmp_path: Path) -> None:
    """The same one each time; so does one that went on otherwise, or whose name is taken by a damaged file."""
    others = [case("lamp", DARK), case("lamp", Note(text="x"), started="2026-02-02"), case("lamp", Note(text="y"))]
    for _ in range(2):
        for each in others:
            Importer(tmp_path).take(each)
        assert len(journals(tmp_path)) == 3
    (tmp_path / "broken.case").write_bytes(b"what is this?")
    assert Importer(tmp_path).take(case("broken", DARK)) == "new"
    assert (tmp_path / "broken.case").read_bytes() == b"what is this?"


@pytest.mark.parametrize(
    "name",
    ["../x", "/etc/passwd", "a\x00b", "x" * 5000, "CON", "nul", "", "..", "a/../../b", "ü", "-rf", "a\nb", "C:\\x"],
)
def test_no_name_leads_out_of_the_folder(name: str, tmp_path: Path) -> None:
    """Nor to a device, nor to nothing."""
    folder = tmp_path / "cases"
    Importer(folder).take(msgspec.structs.replace(case(), case=name))
    (path,) = journals(folder)
    assert path.parent == folder
    assert path.stem == name_as_kept(name)
    assert len(path.name) <= 110
    assert [each.name for each in tmp_path.iterdir()] == ["cases"]


BAD = {
    "nothing": b"{}",
    "no JSON": b"\xff\xfe",
    "a later version": b'{"format":"case/99","case":"a","started":"x"}',
    "an unknown event": b'{"format":"case/6","case":"a","started":"x","entries":[{"turn":1,"at":"","event":{}}]}',
    "deep": b"[" * 100_000,
    "a figure that nobody measured": b'{"format":"case/6","case":"a","started":"x","data-sheet":{"x":1e300}}',
}


@pytest.mark.parametrize("line", BAD.values(), ids=BAD)
def test_what_is_no_case_is_told(line: bytes) -> None:
    """And nothing of it is taken."""
    with pytest.raises(BadInput):
        case_in(line)


def test_a_line_without_end_is_passed_over_without_being_kept() -> None:
    """And the one behind it is read."""
    text = b"x" * (3 * JOURNAL.most) + b"\n\nnext\n"
    (number, wrong), *after = lines_of(io.BytesIO(text))
    assert isinstance(wrong, BadRow)
    assert (number, after) == (1, [(2, b"\n"), (3, b"next\n")])


def test_a_full_disk_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was taken before stays."""
    importer = Importer(tmp_path)
    importer.take(case("one", DARK))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(OSError, match="No space"):
        importer.take(case("two", DARK))
    assert [each.name for each in tmp_path.iterdir()] == ["one.case"]


@given(st.text())
def test_a_cell_comes_back_and_is_no_formula(text: str) -> None:
    """Whatever a spreadsheet would take it for."""
    cell = written(text)
    assert not cell.startswith(("=", "+", "-", "@"))
    assert read(cell) == text


ROWS = {
    PlainRow(): "neither a complaint nor an outcome",
    PlainRow(cause="moth"): "there is no moth",
    PlainRow(complaint="dark", outcome="lost"): "none of: found, not found, not listed",
    PlainRow(complaint="dark", changed="1.3.2026"): "is no day",
    PlainRow(complaint="dark", minutes="soon"): "no number of minutes",
    PlainRow(complaint="dark", minutes="inf"): "under minutes, inf minutes on site is no time",
    PlainRow(complaint="dark", minutes="-5"): "under minutes, -5 minutes on site is no time",
    PlainRow(complaint="dark", minutes="100001"): "under minutes, 100001 minutes on site is no time",
    PlainRow(complaint="dark", outcome="not found", cause="bulb-blown"): "`not found`, and under cause `bulb-blown`",
    PlainRow(complaint="dark", remedy="new bulb"): "a remedy or minutes and no outcome",
    PlainRow(complaint="dark", minutes="20"): "a remedy or minutes and no outcome: write found",
    PlainRow(complaint="dark", changed="2026-02-31"): "under changed, `2026-02-31` is no day",
    PlainRow(complaint="dark", started="2999-01-01"): "under started, 2999-01-01 is still to come",
    PlainRow(complaint="dark", started="2026-05-04", changed="2026-05-01"): "on 2026-05-01, before it was started on",
}


@pytest.mark.parametrize(("row", "told"), ROWS.items(), ids=ROWS.values())
def test_a_row_of_ones_own_that_tells_of_no_case(row: PlainRow, told: str) -> None:
    """It says why."""
    with pytest.raises(BadInput, match=told):
        case_of_row(row, lambda cause: f"there is no {cause}")


def test_all_that_is_wrong_with_a_row_is_told_at_once() -> None:
    """So that a table is mended in one go."""
    row = PlainRow(outcome="not found", cause="bulb-blown", started="2026-05-04", changed="2026-05-01", minutes="1e9")
    with pytest.raises(BadInput, match=r"`not found`, and under cause.*; it was changed on.*; under minutes"):
        case_of_row(row, lambda cause: "")


def test_a_row_of_ones_own_is_the_same_case_each_time(tmp_path: Path) -> None:
    """Without a name too."""
    row = PlainRow(meter="L-1", complaint="dark", cause="bulb-blown", minutes="12,5", changed="2026-01-01")
    for _ in range(2):
        Importer(tmp_path).take(case_of_row(row, lambda cause: ""))
    (path,) = journals(tmp_path)
    columns = row_of(passed_on(path))
    assert (columns["meter"], columns["state"], columns["cause"], columns["minutes"]) == (
        "L-1",
        "closed",
        "bulb-blown",
        12.5,
    )
