"""The index of a folder of cases: worked out from the journals, whatever becomes of it."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.cases import index as indexing
from diagnose.cases.events import Event, Left, MeterNamed, TextRead
from diagnose.cases.index import FILE, Index
from diagnose.cases.journal import Journal
from diagnose.cases.listing import Wanted, cases_wanted
from diagnose.errors import BadInput
from tests.cases.any_events import DARK, TURNS, after_turns


def keep(folder: Path, name: str, *events: Event) -> Path:
    """Keep a case of these events, each an answer of its own."""
    with Journal.start(folder, {}, name) as journal:
        for turn, event in enumerate(events, 1):
            journal.add(turn, event)
        return journal.path


def names(folder: Path) -> set[str]:
    """Return the names of all cases, as the index has them."""
    with Index.open(folder) as index:
        return {each.name for each in cases_wanted(index, Wanted()).cases}


def content(index: Index) -> tuple[list[tuple[object, ...]], list[tuple[object, ...]], list[int]]:
    """Return all that an index holds, whatever the numbers of its rows are."""
    rows = [tuple(row)[1:] for row in index.query("SELECT * FROM cases ORDER BY name")]
    evidence = index.query("SELECT name, finding FROM evidence JOIN cases USING (id) ORDER BY name, finding")
    found = [cases_wanted(index, Wanted(words=word)).of for word in ("dark", "lamp", "a", "x")]
    return rows, [tuple(row) for row in evidence], found


CHANGES = st.lists(st.tuples(st.sampled_from("abc"), TURNS | st.just("gone")), min_size=1, max_size=6)


@settings(max_examples=25, deadline=None)
@given(CHANGES)
def test_an_index_that_was_kept_equals_one_made_anew(changes: list[tuple[str, list[list[Event] | str] | str]]) -> None:
    """After each case that comes, goes on, or goes: the same rows, evidence and words."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for case, turns in changes:
            path = folder / f"{case}.case"
            if turns == "gone":
                path.unlink(missing_ok=True)
            else:
                journal = Journal.resume(folder, case) if path.exists() else Journal.start(folder, {}, case)
                with journal:
                    for entry in after_turns(turns).entries:  # type: ignore[arg-type]
                        journal.add(journal.new_turn(), entry.event)
            with Index.open(folder) as kept:
                was = content(kept)
            assert (folder / FILE).is_file()
            (folder / FILE).unlink()
            with Index.open(folder) as anew:
                assert content(anew) == was


def _garbage(path: Path) -> None:
    path.write_bytes(b"no database at all " * 999)


def _torn(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def _page_of_zeros(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(bytes(3 * 4096))


def _of_another_version(path: Path) -> None:
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA user_version = 999")
    database.close()


def _of_somebody_else(path: Path) -> None:
    path.unlink()
    with sqlite3.connect(path) as database:
        database.execute("CREATE TABLE cases (other)")
    database.close()


def _a_link(path: Path) -> None:
    path.rename(path.with_name("elsewhere"))
    path.symlink_to(path.with_name("elsewhere"))


def _a_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


@pytest.mark.parametrize(
    "damage",
    [_garbage, _torn, _page_of_zeros, _of_another_version, _of_somebody_else, _a_link, _a_folder, Path.unlink],
)
def test_a_damaged_index_is_built_anew(damage: Callable[[Path], None], tmp_path: Path) -> None:
    """Whatever became of the file, the list is right; where a folder is in the way it is made in memory."""
    for number in range(25):
        keep(tmp_path, f"c{number}", TextRead(text=f"dark {number}"), DARK)
    all_of_them = names(tmp_path)
    damage(tmp_path / FILE)
    assert names(tmp_path) == all_of_them
    assert len(all_of_them) == 25


def test_an_index_deleted_while_in_use_is_no_matter(tmp_path: Path) -> None:
    """Whoever has it open goes on, and the next one makes it anew."""
    keep(tmp_path, "one", DARK)
    with Index.open(tmp_path) as index:
        (tmp_path / FILE).unlink()
        assert cases_wanted(index, Wanted()).of == 1
        keep(tmp_path, "two", DARK)
    assert names(tmp_path) == {"one", "two"}


def test_only_this_user_reads_the_index(tmp_path: Path) -> None:
    """As the journals."""
    keep(tmp_path, "one", DARK)
    names(tmp_path)
    assert (tmp_path / FILE).stat().st_mode & 0o777 == 0o600


def test_a_case_that_cannot_be_read_is_told_each_time_and_hides_no_other(tmp_path: Path) -> None:
    """With file and line; once it is mended it is listed."""
    keep(tmp_path, "one", DARK)
    path = keep(tmp_path, "two", DARK, DARK)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"present"', b'"presen"', 1))
    for _ in range(2):
        with Index.open(tmp_path) as index:
            assert [f"{path}:2: the line cannot be read" in each for each in index.problems()] == [True]
        assert names(tmp_path) == {"one"}
    path.write_bytes(whole)
    assert names(tmp_path) == {"one", "two"}


def test_a_folder_that_may_not_be_read_is_not_an_empty_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is said; a folder that is not there yet holds nothing."""
    assert names(tmp_path / "none") == set()

    def refused(path: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(os, "scandir", refused)
    with pytest.raises(BadInput, match="cannot be listed: Permission denied"):
        Index.open(tmp_path)


def test_a_folder_that_may_not_be_written_is_listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The index is then made in memory."""
    keep(tmp_path, "one", DARK)

    def refused(folder: Path) -> sqlite3.Connection:
        raise PermissionError(13, "Read-only file system", str(folder))

    monkeypatch.setattr(indexing, "_on_disk", refused)
    assert names(tmp_path) == {"one"}
    assert not (tmp_path / FILE).exists()


def test_the_clock_may_go_back(tmp_path: Path) -> None:
    """The latest time is that of the last change, and what is no time is none."""
    with Journal.start(tmp_path, {}, "one") as journal:
        for at in ("2030-01-01T00:00:00+00:00", "2020-01-01T00:00:00+00:00", "yesterday"):
            journal._clock = lambda at=at: at  # type: ignore[misc]
            journal.add(journal.new_turn(), DARK)
    with Index.open(tmp_path) as index:
        assert [each.changed[:4] for each in cases_wanted(index, Wanted()).cases] == ["2030"]


def test_what_a_row_says(tmp_path: Path) -> None:
    """The complaint in its own words on one line, the meter, how it was left and with which cause first."""
    left = Left(state="handed over", causes=(("bulb-blown", 0.6), ("fuse-blown", 0.2)), findings=("lamp-dark",))
    keep(tmp_path, "one", MeterNamed(tag="L-1"), TextRead(text="the lamp\nis dark"), left)
    with Index.open(tmp_path) as index:
        (row,) = cases_wanted(index, Wanted()).cases
    assert (row.meter, row.complaint, row.state) == ("L-1", "the lamp is dark", "handed over")
    assert (row.cause, row.probability, row.confirmed) == ("bulb-blown", 0.6, False)
