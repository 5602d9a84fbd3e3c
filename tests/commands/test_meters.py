"""A meter that is named by its tag: its data sheet is kept, and what was found on it before is told everywhere."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cases.events import Closed, MeterNamed, SheetFilled
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen
from tests.commands.running import LAMP, Call, run

DARK = FindingSeen(finding="lamp-dark", present=True, quote="no light")
BEFORE = "Found on L-1 before: Bulb blown"
HERE_BEFORE = BEFORE.replace("L-1", "l-1")


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep a closed case of the meter L-1 and an open one; stand in a folder with its data sheet."""
    with Journal.start(tmp_path, {}, "old") as journal:
        journal.add(1, MeterNamed(tag="L-1"), CheckDone(check="look-at-bulb", answer="broken"))
        journal.add(2, Closed(outcome="found", cause="bulb-blown", remedy="change-bulb"))
    with Journal.start(tmp_path, {}, "new") as journal:
        journal.add(1, MeterNamed(tag="l-1"), DARK)
    (tmp_path / "lamp.yaml").write_text("# by the window\npower: 60 W\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TestKeeping:
    """``diagnose data-sheet keep`` and ``show``."""

    def test_a_file_comes_back_as_it_was(self, kept: Path, call: Call) -> None:
        """Comments and all, by the tag in capitals or not."""
        assert call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml").status == 0
        shown = call("data-sheet", "show", "l-1")
        assert (shown.status, shown.out) == (0, "# by the window\npower: 60 W\n")
        assert "meters" in shown.err

    def test_another_file_takes_its_place_and_what_differs_is_told(self, kept: Path, call: Call) -> None:
        """What was said and is not any more, too; the same file once more changes nothing."""
        call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml")
        assert "Kept already" in call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml").out
        (kept / "other.yaml").write_text("power: 40 W\n")
        told = call(*LAMP, "data-sheet", "keep", "L-1", "other.yaml").out
        assert "60 W, here 40 W" in told
        (kept / "third.yaml").write_text("place: inside\n")
        assert "No longer said: power" in call(*LAMP, "data-sheet", "keep", "L-1", "third.yaml").out

    def test_what_is_wrong_is_not_kept(self, kept: Path, call: Call) -> None:
        """Each with its way out."""
        (kept / "wrong.yaml").write_text("powr: 60 W\n")
        assert "did you mean `power`" in call(*LAMP, "data-sheet", "keep", "L-1", "wrong.yaml").err
        assert "with --case" in call(*LAMP, "data-sheet", "keep", "L-1").err
        assert "by its tag" in call(*LAMP, "data-sheet", "keep", " ", "lamp.yaml").err
        assert "no data sheet is kept of L-1" in call("data-sheet", "show", "L-1").err
        assert not (kept / "meters").exists()

    def test_what_was_answered_in_a_case_is_added(self, kept: Path, call: Call) -> None:
        """Where the kept one says nothing yet; a case of another meter is refused."""
        with Journal.resume(kept, "new") as journal:
            journal.add(2, SheetFilled(field="power", value=40.0), SheetFilled(field="place", value="inside"))
        call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml")
        done = call(*LAMP, "data-sheet", "keep", "L-1", "--case", "new")
        assert "Left as it was" in done.out
        assert call("data-sheet", "show", "L-1").out == "# by the window\npower: 60 W\nplace: inside\n"
        assert "about the meter l-1, not L-2" in call(*LAMP, "data-sheet", "keep", "L-2", "--case", "new").err


class TestNaming:
    """``--meter`` at an interview and a triage."""

    def test_an_interview_goes_by_the_kept_data_sheet(self, kept: Path, call: Call) -> None:
        """And tells what was found before; the case keeps both."""
        call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml")
        done = run(*LAMP, "interview", "--meter", "L-1", "--name", "third", DIAGNOSE_CASES=str(kept))
        said = " ".join(done.out.split())
        assert "1 field known from the data sheet kept of L-1." in said
        assert BEFORE in said
        entry, *_ = Journal.read(kept, "third").entries
        assert entry.event == MeterNamed(tag="L-1", data_sheet={"power": 60.0})

    def test_another_data_sheet_goes_first_and_what_differs_is_told(self, kept: Path, call: Call) -> None:
        """In a triage as well; with none kept it is said how to keep this one."""
        (kept / "other.yaml").write_text("power: 40 W\n")
        where = ("--data-sheet", "other.yaml")
        triage = (*LAMP, "triage", "--meter", "L-1", *where, "-")
        told = " ".join(run(*triage, stdin="no light", DIAGNOSE_CASES=str(kept)).out.split())
        assert "diagnose data-sheet keep L-1 other.yaml" in told
        call(*LAMP, "data-sheet", "keep", "L-1", "lamp.yaml")
        told = " ".join(run(*triage, stdin="no light", DIAGNOSE_CASES=str(kept)).out.split())
        assert "60 W, here 40 W" in told
        assert "other.yaml goes first here" in told
        assert BEFORE in told

    def test_what_was_answered_and_is_not_kept_is_told_at_the_end(self, kept: Path) -> None:
        """With the line that keeps it."""
        with Journal.resume(kept, "new") as journal:
            journal.add(2, SheetFilled(field="place", value="inside"))
        done = run(*LAMP, "interview", "--resume", "new", DIAGNOSE_CASES=str(kept))
        assert "diagnose data-sheet keep l-1 --case new" in done.out


class TestBefore:
    """What was found on the meter before."""

    @pytest.mark.parametrize("form", ["text", "markdown"])
    def test_when_a_case_is_shown(self, form: str, kept: Path, call: Call) -> None:
        """Below its tag, and among the messages for other programs."""
        assert HERE_BEFORE in call(*LAMP, "cases", "show", "new", "--format", form).out.replace("\\", "")
        document = json.loads(call(*LAMP, "cases", "show", "new", "--format", "json").out)
        assert any(each.startswith(HERE_BEFORE) for each in document["messages"])

    def test_when_it_is_closed(self, kept: Path, call: Call) -> None:
        """Before anything else, as whoever closes it may not know."""
        assert call(*LAMP, "cases", "close", "new", "--not-found").out.startswith(HERE_BEFORE)

    @pytest.mark.parametrize("form", ["html", "markdown", "text", "json"])
    def test_in_the_report(self, form: str, kept: Path, call: Call) -> None:
        """In each of its forms."""
        done = call(*LAMP, "cases", "report", "new", "--format", form)
        assert HERE_BEFORE in " ".join(done.out.replace("\\", "").split())

    def test_a_later_case_is_no_history(self, kept: Path, call: Call) -> None:
        """Of one that was closed on an earlier day."""
        table = "name,meter,changed,complaint,cause\nearly,L-1,2020-01-01,no light,bulb-blown\n"
        (kept / "table.csv").write_text(table)
        call(*LAMP, "cases", "import", "table.csv")
        assert "Found on" not in call(*LAMP, "cases", "show", "early").out
        assert f"{HERE_BEFORE} 2 times" in call(*LAMP, "cases", "show", "new").out
