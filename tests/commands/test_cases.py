"""``diagnose cases``: kept interviews listed, found, closed, opened again, passed on and taken over."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path

import jsonschema
import pytest

from diagnose.bounded import JOURNAL
from diagnose.cases import exchange
from diagnose.cases.events import Left, MeterNamed, Reopened, TextRead
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen, RemedyTried
from tests.commands.running import LAMP, Call, run

DARK = FindingSeen(finding="lamp-dark", present=True, quote="no light")
LEFT = Left(state="handed over", causes=(("bulb-blown", 0.61),), findings=("lamp-dark",))


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """Keep two cases about a lamp: one left, one just begun."""
    with Journal.start(tmp_path, {}, "desk") as journal:
        journal.add(1, MeterNamed(tag="L-1"))
        journal.add(2, TextRead(text="the lamp on the desk by the window is dark since noon"), DARK)
        journal.add(3, LEFT)
    with Journal.start(tmp_path, {}, "hall") as journal:
        journal.add(1, DARK)
    return tmp_path


class TestList:
    """What is kept here."""

    def test_on_a_screen(self, kept: Path, call: Call) -> None:
        """A heading and a line a case, within 80 columns; how many there are goes to standard error."""
        done = call("cases", "list")
        heading, *lines = done.out.splitlines()
        assert heading.split() == ["name", "date", "meter", "state", "cause", "complaint"]
        assert sorted(line.split()[0] for line in lines) == ["desk", "hall"]
        assert any("61 % bulb-blown" in line and line.endswith("…") for line in lines)
        assert max(map(len, done.out.splitlines())) <= 80
        assert (done.status, done.err) == (0, f"2 in {kept}\n")

    @pytest.mark.parametrize("columns", [20, 40, 60, 80, 200])
    def test_on_a_screen_of_any_width(
        self, columns: int, kept: Path, call: Call, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Columns give way down to eight letters each; below that lines run on."""
        monkeypatch.setenv("COLUMNS", str(columns))
        assert max(map(len, call("cases", "list").out.splitlines())) <= max(columns, 72)

    def test_filtered(self, kept: Path, call: Call) -> None:
        """By what stands in the columns; a wrong day is told."""
        for options in (("--meter", "L-*"), ("--state", "handed over"), ("--cause", "bulb-blown"), ("--limit", "1")):
            assert len(call("cases", "list", *options).out.splitlines()) == 2
        assert call("cases", "list", "--until", "2001-01-01").out == ""
        assert call("cases", "list", "--since", "soon").status == 2
        assert call("cases", "list", "--state", "sold").status == 2

    @pytest.mark.parametrize("command", [("list",), ("search", "noon"), ("search", "--like", "desk")])
    def test_a_cause_that_nobody_knows(self, command: tuple[str, ...], kept: Path, call: Call) -> None:
        """It is asked what was meant; one of the rule book that no case has is none the less right."""
        done = call(*LAMP, "cases", *command, "--cause", "bulb-blow")
        assert (done.status, done.out) == (2, "")
        assert "there is no cause `bulb-blow`: did you mean `bulb-blown`?" in done.err
        assert call(*LAMP, "cases", *command, "--cause", "zz*").status == 2
        for known in ("supply-missing", "supply*"):
            assert call(*LAMP, "cases", *command, "--cause", known).status == 0

    def test_a_state_that_is_none(self, kept: Path, call: Call) -> None:
        """The choices are told, and nothing is not one of them."""
        done = call("cases", "list", "--state", "closd")
        assert done.status == 2
        assert "'closed'" in done.err
        assert "''" not in done.err

    def test_for_other_programs(self, kept: Path, call: Call) -> None:
        """JSON as its schema says, and CSV with the same columns."""
        document = json.loads(call(*LAMP, "cases", "list", "--format", "json").out)
        jsonschema.validate(document, json.loads(call("schema", "case-list").out))
        (desk,) = (each for each in document["cases"] if each["name"] == "desk")
        assert (desk["meter"], desk["state"], desk["probability"]) == ("L-1", "handed over", 0.61)
        rows = list(csv.DictReader(io.StringIO(call(*LAMP, "cases", "list", "--format", "csv").out)))
        assert list(rows[0]) == list(desk)
        assert {row["name"] for row in rows} == {"desk", "hall"}

    def test_a_damaged_case_hides_no_other(self, kept: Path, call: Call) -> None:
        """It is told with file and line, and the status says that something is wrong."""
        path = kept / "hall.case"
        path.write_bytes(path.read_bytes().replace(b"finding", b"fin\x1bding", 1) + b"x")
        done = call("cases", "list")
        assert done.status == 1
        assert f"cannot be read: {path}:2: the line cannot be read" in done.err
        assert "hall" not in done.out
        assert "desk" in done.out

    def test_a_folder_that_cannot_be_listed(self, tmp_path: Path) -> None:
        """It does not count as an empty one."""
        (tmp_path / "file").touch()
        done = run("cases", "list", DIAGNOSE_CASES=str(tmp_path / "file"))
        assert (done.status, done.out) == (1, "")
        assert "cannot be listed: Not a directory" in done.err


class TestSearch:
    """By words and by likeness."""

    def test_by_words(self, kept: Path, call: Call) -> None:
        """All of them; without any, or with both ways at once, it is said how."""
        assert "desk" in call("cases", "search", "window", "noo").out
        assert call("cases", "search", "window", "moon").out == ""
        for nothing in ((), ("",), ("*",), (" ", "..."), ("x", "--like", "desk"), ("--like", "")):
            done = call("cases", "search", *nothing)
            assert (done.status, done.out) == (2, "")
            assert "`diagnose cases search coating mill`" in done.err

    def test_by_likeness(self, kept: Path, call: Call) -> None:
        """Told with what they share; JSON as its schema says."""
        with Journal.start(kept, {}, "other") as journal:
            journal.add(1, FindingSeen(finding="bulb-black", present=True))
        done = call(*LAMP, "cases", "search", "--like", "desk")
        assert "hall" in done.out
        assert "100 % alike: lamp is dark" in done.out
        document = json.loads(call(*LAMP, "cases", "search", "--like", "desk", "--format", "json").out)
        jsonschema.validate(document, json.loads(call("schema", "cases-alike").out))
        assert [each["case"]["name"] for each in document["cases"]] == ["hall"]
        assert call(*LAMP, "cases", "search", "--like", "nobody").status == 1
        for narrowed in (("--state", "closed"), ("--meter", "no-such"), ("--until", "1999")):
            told = call(*LAMP, "cases", "search", "--like", "desk", *narrowed).out
            assert told == "no other case shares a finding with desk\n"
        assert "hall" in call(*LAMP, "cases", "search", "--like", "desk", "--limit", "0", "--state", "open").out


class TestClose:
    """What came of a case."""

    def test_with_options(self, kept: Path, call: Call) -> None:
        """It is closed with what was said, told so, and closed once."""
        done = call(*LAMP, "cases", "close", "desk", "--cause", "bulb-blown", "--minutes", "12", "--part", "bulb E27")
        assert done.status == 0
        assert done.out.startswith("Closed case desk.\n  Cause: ")
        assert "closed" in call("cases", "list", "--meter", "L-1").out
        again = call(*LAMP, "cases", "close", "desk", "--not-found")
        assert (again.status, again.out) == (1, "")
        assert "is closed already" in again.err
        assert "Closed:    20" in call(*LAMP, "cases", "show", "desk").out

    def test_a_closed_case_is_opened_again_before_anybody_goes_on(self, kept: Path, call: Call) -> None:
        """And the reason is asked for."""
        call(*LAMP, "cases", "close", "desk", "--not-found")
        resumed = call(*LAMP, "cases", "resume", "desk")
        assert resumed.status == 1
        assert "diagnose cases reopen desk" in resumed.err
        assert call("cases", "reopen", "desk").status == 2
        assert call("cases", "reopen", "desk", "--because", "dark again").status == 0
        assert call("cases", "reopen", "desk", "--because", "dark again").status == 1
        assert Journal.read(kept, "desk").entries[-1].event == Reopened(why="dark again")
        assert call(*LAMP, "cases", "resume", "desk", stdin="").status == 130

    def test_names_that_the_rule_book_does_not_have(self, kept: Path, call: Call) -> None:
        """It is asked what was meant, and nothing is written."""
        before = (kept / "desk.case").read_bytes()
        for option, name in (("--cause", "bulb-blow"), ("--remedy", "change-bulp"), ("--proof", "look-at-bulp")):
            more = () if option == "--cause" else ("--cause", "bulb-blown")
            done = call(*LAMP, "cases", "close", "desk", option, name, *more)
            assert (done.status, done.out) == (2, "")
            assert f"`{name}`: did you mean" in done.err
        assert call(*LAMP, "cases", "close", "desk", "--not-found", "--not-listed", "x").status == 2
        assert call(*LAMP, "cases", "close", "desk", "--not-found", "--minutes", "-3").status == 1
        assert call(*LAMP, "cases", "close", "desk", "--not-found", "--minutes", "nan").status == 1
        assert (kept / "desk.case").read_bytes() == before
        call(*LAMP, "cases", "close", "desk", "--not-found")
        assert "did you mean `bulb-blown`?" in call(*LAMP, "cases", "close", "desk", "--cause", "bulb-blow").err

    def test_asked(self, kept: Path, call: Call) -> None:
        """Without options each is asked for: a cause by its number, a wrong one again."""
        done = call(*LAMP, "cases", "close", "desk", stdin="bulb-blow\n1\nchange-bulb\nshines\nsoon\n12,5 min\na; b\n")
        assert done.status == 0
        assert "did you mean `bulb-blown`?" in done.out
        assert "that is no number of minutes" in done.out
        closed = Journal.resume(kept, "desk").closed
        assert closed is not None
        assert (closed.outcome, closed.rank, closed.minutes, closed.parts) == ("found", 1, 12.5, ("a", "b"))
        assert (closed.remedy, closed.proof, closed.reading) == ("change-bulb", "look-at-bulb", "shines")

    def test_leaving_in_the_middle_closes_nothing(self, kept: Path, call: Call) -> None:
        """Status 130, as everywhere."""
        before = (kept / "desk.case").read_bytes()
        assert call(*LAMP, "cases", "close", "desk", stdin="1\n").status == 130
        assert (kept / "desk.case").read_bytes() == before

    def test_what_was_proved_need_not_be_said_again(self, kept: Path, call: Call) -> None:
        """The remedy that helped, with its proof; and the cause counts where it stood before that."""
        with Journal.resume(kept, "hall") as journal:
            journal.add(2, CheckDone(check="look-at-bulb", answer="broken"))
            journal.add(3, RemedyTried(remedy="change-bulb", verdict="cured"))
        assert call(*LAMP, "cases", "close", "hall", "--cause", "bulb-blown").status == 0
        closed = Journal.resume(kept, "hall").closed
        assert closed is not None
        assert (closed.remedy, closed.rank) == ("change-bulb", 1)

    def test_what_the_rules_did_badly_is_for_the_trainer(self, kept: Path, call: Call) -> None:
        """A cause that is not listed; one that stood first is not."""
        done = call(
            *LAMP, "cases", "close", "desk", "--not-listed", "=HYPERLINK(1) \x1b[2J a moth", "--remedy", "moth out"
        )
        assert "It is on the trainer's list" in done.out
        assert "\x1b" not in done.out
        call(*LAMP, "cases", "close", "hall", "--cause", "bulb-blown")
        (_, line) = call("cases", "list", "--to-review").out.splitlines()
        assert line.startswith("desk")
        assert "\n" + "desk," in call(*LAMP, "cases", "list", "--format", "csv").out
        assert ",'=HYPERLINK(1)" in call(*LAMP, "cases", "list", "--format", "csv").out


class TestExchange:
    """Passed on and taken over."""

    @pytest.mark.parametrize("form", ["jsonl", "csv"])
    def test_there_and_back(
        self,
        form: str,
        kept: Path,
        call: Call,
        monkeypatch: pytest.MonkeyPatch,
        tmp_path_factory: pytest.TempPathFactory,
    ) -> None:
        """What comes in is what went out, once however often it is taken."""
        file = kept / f"cases.{form}"
        assert call("cases", "export", "--format", form, "--output", str(file)).err == "2 exported\n"
        monkeypatch.setenv("DIAGNOSE_CASES", str(tmp_path_factory.mktemp("elsewhere") / "cases"))
        assert call("cases", "import", str(file)).err == "2 new\n"
        assert call("cases", "import", str(file)).err == "0 new, 2 there already\n"
        assert call("cases", "export", "--format", form).out == file.read_text(encoding="utf-8")

    def test_bad_rows_among_good_ones(self, kept: Path, call: Call) -> None:
        """Told with their line and passed over; the status says so."""
        text = "meter,complaint,cause\nL-7,dark,bulb-blown\nL-8,dark,bulb-blow\n\nL-9,dark,bulb-blown,1,2\nL-10,dim,\n"
        (kept / "ours.csv").write_text(text, encoding="utf-8")
        done = call(*LAMP, "cases", "import", str(kept / "ours.csv"))
        assert done.status == 1
        told, other, counted = done.err.splitlines()
        assert told.endswith("ours.csv:3: passed over, for there is no cause `bulb-blow`: did you mean `bulb-blown`?")
        assert "ours.csv:5: passed over, for it has 5 cells" in other
        assert counted == "2 new, 2 passed over"
        assert "L-7" in call("cases", "list", "--state", "closed").out

    def test_what_a_row_tells_is_shown_in_its_own_words(self, kept: Path, call: Call) -> None:
        """And that likeness cannot go by it is said, with what can."""
        row = "name,complaint,cause\nlobby,dim since *noon*,bulb-blown\nporch,dim too,\n"
        call(*LAMP, "cases", "import", "--format", "csv", "-", stdin=row)
        assert "Complaint: dim since *noon*" in call(*LAMP, "cases", "show", "lobby").out
        assert r"Complaint: dim since \*noon\*" in call(*LAMP, "cases", "show", "lobby", "--format", "markdown").out
        shown = call(*LAMP, "cases", "show", "porch").out
        assert "Complaint: dim too" in shown
        assert "Nothing was told" not in shown
        alike = call(*LAMP, "cases", "search", "--like", "lobby")
        assert (alike.status, alike.out) == (1, "")
        assert "lobby has words at most, and no findings to compare by" in alike.err

    def test_rows_that_contradict_themselves(self, kept: Path, call: Call) -> None:
        """Passed over with what to mend, so that list and statistics tell the same; a good row is taken in."""
        rows = (
            "meter,started,changed,outcome,cause,minutes",
            "L-7,2026-05-01,2026-05-02,not found,bulb-blown,",
            "L-8,2026-05-04,2026-05-01,found,bulb-blown,",
            "L-9,,2999-05-01,found,bulb-blown,",
            "L-10,,2026-05-01,found,bulb-blown,1e9",
            "L-11,2026-05-01,2026-05-01,found,bulb-blown,90",
        )
        done = call(*LAMP, "cases", "import", "--format", "csv", "-", stdin="\n".join(rows))
        *told, counted = done.err.splitlines()
        assert [each.split(":")[1] for each in told] == ["2", "3", "4", "5"]
        assert (done.status, counted) == (1, "1 new, 4 passed over")
        assert "L-11" in call("cases", "list", "--state", "closed").out

    def test_rows_longer_than_a_case_may_be(self, kept: Path, call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
        """Told with their line, those before and behind taken in; a first line that long is no heading."""
        monkeypatch.setattr(exchange, "JOURNAL", JOURNAL._replace(most=600))
        long, open_quote = "x" * 700, '"begun\n'
        text = f'meter,complaint\nL-7,dark\nL-8,{long}\nL-9,{open_quote}{long}\n and ended"\nL-10,dim\n'
        (kept / "ours.csv").write_text(text, encoding="utf-8")
        done = call(*LAMP, "cases", "import", str(kept / "ours.csv"))
        first, second, counted = done.err.splitlines()
        assert "ours.csv:3: passed over, for it is longer than" in first
        assert "ours.csv:5: passed over, for it is longer than" in second
        assert (done.status, counted) == (1, "2 new, 2 passed over")
        (kept / "wide.csv").write_text(f"meter,{long}\nL-7,dark\n", encoding="utf-8")
        done = call(*LAMP, "cases", "import", str(kept / "wide.csv"))
        assert (done.status, "the first line of the table cannot be read, for it is longer" in done.err) == (1, True)

    def test_so_many_bad_rows_are_counted(self, kept: Path, call: Call) -> None:
        """And not told one by one."""
        done = call("cases", "import", "-", stdin="x\n" * 1000)
        assert len(done.err.splitlines()) == 102
        assert done.err.splitlines()[-2:] == ["… and 900 more rows", "0 new, 1,000 passed over"]

    def test_files_that_are_none(self, kept: Path, call: Call) -> None:
        """Not there, a folder, no table, nowhere to write."""
        (kept / "odd.csv").write_text("a,b\n1,2\n", encoding="utf-8")
        (kept / "old.csv").write_bytes(b"meter,complaint\rL-1,dark\r")
        for arguments in (
            ("import", "nowhere.jsonl"),
            ("import", "."),
            ("import", "odd.csv"),
            ("import", "old.csv"),
            ("export", "nobody"),
            ("export", "--output", "nowhere/cases.jsonl"),
        ):
            done = call("cases", *arguments)
            assert (done.status, done.out) == (1, "")
            assert done.err.startswith("error: ")

    @pytest.mark.parametrize("text", [bytes(range(256)) * 8, b"meter\x00\xff,cause\n", b"meter,cause\rL-1,x\r"])
    def test_what_is_no_table_is_told_in_plain_words(self, text: bytes, kept: Path, call: Call) -> None:
        """Not in those of the program that reads it."""
        (kept / "odd.csv").write_bytes(text)
        done = call("cases", "import", str(kept / "odd.csv"))
        assert (done.status, done.out) == (1, "")
        assert "this is no table that can be read" in done.err
        assert "newline mode" not in done.err

    def test_a_row_that_is_none_is_told_in_plain_words(self, kept: Path, call: Call) -> None:
        """With its line; the others are taken in."""
        done = call("cases", "import", "--format", "csv", "-", stdin="complaint\ndim\nfaint\rfainter\ndark\n")
        assert "-:3: passed over, for it is no row of a table" in done.err
        assert "newline mode" not in done.err
        assert done.err.splitlines()[-1] == "2 new, 1 passed over"


class TestArchive:
    """Cases passed on with their files."""

    def test_there_and_back(self, kept: Path, call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
        """The report elsewhere shows the file; twice in is once; without an archive it is said what is not in it."""
        (kept / "note.txt").write_text("seen at noon")
        call(*LAMP, "cases", "report", "desk", "--attach", str(kept / "note.txt"), "--output", str(kept / "desk.txt"))
        assert "without 1 attached files; --output cases.zip" in call("cases", "export").err
        assert call("cases", "export", "--output", str(kept / "all.zip")).status == 0
        monkeypatch.setenv("DIAGNOSE_CASES", str(kept / "elsewhere"))
        assert call("cases", "import", str(kept / "all.zip")).err == "2 new, 1 new files\n"
        assert call("cases", "import", str(kept / "all.zip")).err == "0 new, 2 there already, 0 new files\n"
        told = call(*LAMP, "cases", "report", "desk", "--format", "markdown").out
        assert "note" in told
        assert "the file is missing" not in told

    def test_members_that_are_no_files_of_cases_are_named(self, kept: Path, call: Call) -> None:
        """And written nowhere."""
        call("cases", "export", "--output", str(kept / "all.zip"))
        with zipfile.ZipFile(kept / "all.zip", "a") as archive:
            archive.writestr("../../evil.txt", "evil")
        done = call("cases", "import", str(kept / "all.zip"))
        assert "left out: ../../evil.txt: no case and no file of one\n" in done.err
        assert done.status == 0
        assert not list(kept.rglob("evil*"))
        assert not (kept.parent.parent / "evil.txt").exists()

    def test_what_cannot_be_is_said(self, kept: Path, call: Call) -> None:
        """An archive on standard output or input, and a file that is none."""
        assert "--output" in call("cases", "export", "--format", "zip").err
        assert "not from standard input" in call("cases", "import", "--format", "zip", "-").err
        (kept / "none.zip").write_text("none")
        assert "is no archive" in call("cases", "import", str(kept / "none.zip")).err
        assert not (kept / ".none.zip.part").exists()


class TestClosingByQuestions:
    """``diagnose cases close`` without options."""

    def test_each_answer_is_judged_at_once(self, kept: Path, call: Call) -> None:
        """And asked again, until it can be; nothing that was answered before has to be said anew."""
        answers = "bulb-blwn\nbulb-blown\nchange-bulp\nchange-bulb\nshines\nlong\n-5\n9999999\n12,5\n\n"
        done = run(*LAMP, "cases", "close", "desk", stdin=answers, DIAGNOSE_CASES=str(kept))
        assert done.status == 0
        for told in ("did you mean `bulb-blown`", "did you mean `change-bulb`", "no number of minutes", "no time that"):
            assert told in done.out
        assert "12.5 min" in done.out
        assert done.out.count("What was it") == 2

    def test_a_remedy_in_one_word_that_is_none_says_where_they_are_listed(self, kept: Path, call: Call) -> None:
        """By the command as it is written."""
        done = call(*LAMP, "cases", "close", "desk", "--cause", "bulb-blown", "--remedy", "zzzz")
        assert "`diagnose rules ids remedies`" in done.err
