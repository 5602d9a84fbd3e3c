"""The data sheet of a meter is kept by its tag, whole or not at all, by one program at a time."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.cases.events import Case, MeterNamed, SheetFilled
from diagnose.cases.lock import Lock
from diagnose.cases.meter_sheets import keep, kept_sheet, kept_text, sheet_of, with_fields
from diagnose.cases.standing import standing_of
from diagnose.errors import BadInput, ProblemsFound
from diagnose.rule_book.load import load_folder
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)


def sheet(folder: Path, text: str, tag: str = "L-1") -> Path:
    """Keep a data sheet; return where."""
    path = sheet_of(folder, tag)
    keep(path, lambda _: text)
    return path


@given(st.text(min_size=1, max_size=60))
def test_no_tag_leads_anywhere_else(tag: str) -> None:
    """Whatever somebody calls a meter, its file is in the one folder, under a name that any system takes."""
    path = sheet_of(Path("cases"), tag)
    assert path.parent == Path("cases/meters")
    assert path.name.isascii()
    assert not path.name.startswith(".")


def test_tags_that_differ_have_files_that_differ() -> None:
    """But not those that differ in capitals alone, which name the same meter."""
    names = {sheet_of(Path(), tag).name for tag in ("FT-31", "FT 31", "FT/31", "../FT-31", "FT-31.", "con", "FT–31")}
    assert len(names) == 7
    assert sheet_of(Path(), "ft-31") == sheet_of(Path(), "FT-31")


def test_it_is_read_as_any_data_sheet(tmp_path: Path) -> None:
    """Nothing where none is kept; what is wrong with one is told with its place, for people may edit it."""
    assert kept_sheet(tmp_path, "L-1", BOOK) == {}
    assert kept_sheet(tmp_path, "", BOOK) == {}
    path = sheet(tmp_path, "# by the window\npower: 60 W\n")
    assert kept_sheet(tmp_path, "l-1", BOOK) == {"power": 60.0}
    path.write_text("powr: 60 W\n")
    with pytest.raises(ProblemsFound, match="did you mean `power`"):
        kept_sheet(tmp_path, "L-1", BOOK)
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(BadInput, match="no text in UTF-8"):
        kept_sheet(tmp_path, "L-1", BOOK)


def test_only_its_user_can_read_it_and_nothing_stays_beside_it(tmp_path: Path) -> None:
    """Neither a lock nor a part, whatever happened."""
    path = sheet(tmp_path, "power: 60 W\n")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700

    def fail(_: str) -> str:
        raise BadInput("no")

    for each in (path, sheet_of(tmp_path, "L-2")):
        with pytest.raises(BadInput, match="no"):
            keep(each, fail)
    assert [each.name for each in path.parent.iterdir()] == [path.name]
    assert kept_text(path) == "power: 60 W\n"


def test_one_program_at_a_time_writes_it(tmp_path: Path) -> None:
    """The other one is told; what it would have written is not there by half."""
    path = sheet(tmp_path, "power: 60 W\n")
    lock = Lock(path)
    with pytest.raises(BadInput, match="being written by another program"):
        keep(path, lambda _: "power: 40 W\n")
    lock.release()
    assert keep(path, lambda text: text) is False
    assert keep(path, lambda text: text + "place: inside\n") is True
    assert kept_text(path) == "power: 60 W\nplace: inside\n"


def test_a_lock_on_a_file_that_was_replaced_is_none(tmp_path: Path) -> None:
    """Whoever waited for it would write over what has come meanwhile."""
    path = sheet(tmp_path, "power: 60 W\n")
    lock = Lock(path)
    assert lock.is_on(path)
    sheet(tmp_path, "power: 40 W\n", "L-2").replace(path)
    assert not lock.is_on(path)
    path.unlink()
    assert not lock.is_on(path)
    lock.release()


def test_it_is_never_written_or_read_through_a_link(tmp_path: Path) -> None:
    """Neither the file nor the folder."""
    other = tmp_path / "other.yaml"
    other.write_text("power: 60 W\n")
    path = sheet_of(tmp_path / "cases", "L-1")
    path.parent.mkdir(parents=True)
    path.symlink_to(other)
    for use in (lambda: kept_text(path), lambda: keep(path, lambda _: "power: 1 W\n")):
        with pytest.raises(BadInput, match="is a link"):
            use()
    assert other.read_text() == "power: 60 W\n"


def test_fields_are_added_below_what_somebody_wrote() -> None:
    """In place of a field that was left blank; a new data sheet has the tag for its title."""
    before = "# mine\npower:   # look at the bulb\nplace: inside"
    assert with_fields(before, {"power": "60 W"}) == "# mine\nplace: inside\npower: 60 W\n"
    assert with_fields("", {"power": "60 W"}, "L-1") == "title: L-1\npower: 60 W\n"
    assert with_fields(before, {}) == f"{before}\n"


def test_what_it_said_when_the_meter_was_named_counts_in_the_case() -> None:
    """Below the data sheet that the case was begun with, and below what was answered; a corrected tag corrects it."""
    case = Case(data_sheet={"power": 40.0}).after(MeterNamed(tag="L-1", data_sheet={"power": 60.0, "place": "inside"}))
    assert standing_of(case).data_sheet == {"power": 40.0, "place": "inside"}
    answered = case.after(SheetFilled(field="place", value="outside"))
    assert standing_of(answered).data_sheet == {"power": 40.0, "place": "outside"}
    assert standing_of(case.after(MeterNamed(tag="L-2"))).data_sheet == {"power": 40.0}
