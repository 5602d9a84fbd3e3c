"""``diagnose triage`` as the helpdesk uses it, with the rule book that came along."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.shipped import shipped_folder
from tests.commands.running import LAMP, document, run, shell

TICKET = "Display is dark. Supply is 230 V AC at the terminals. Fuse is ok.\n"
WITH_GREETING = TICKET + "Best wishes from the night shift.\n"
NO_LIGHT = "No light in the lamp. The voltage is 2 V. Best wishes from the night shift.\n"
RULES = " ".join(LAMP)
FORMATS = ("text", "json", "markdown")


class TestWhereAReportComesFrom:
    """A file, several, a pipe."""

    def test_a_file(self, tmp_path: Path) -> None:
        """The text form shows what was understood, causes and the next step."""
        (tmp_path / "ticket.txt").write_text(TICKET, encoding="utf-8")
        done = run("triage", "ticket.txt", cwd=tmp_path)
        assert (done.status, done.err) == (0, "")
        for head in ("Understood", "Causes, most probable first", "Questions to ask", "Next step"):
            assert f"\n{head}\n" in done.out

    def test_file_pipe_and_dash_say_the_same(self, tmp_path: Path) -> None:
        """However the text comes in, the diagnosis is one."""
        (tmp_path / "ticket.txt").write_text(TICKET, encoding="utf-8")
        shown = {
            run("triage", "ticket.txt", cwd=tmp_path).out,
            run("triage", stdin=TICKET).out,
            run("triage", "-", stdin=TICKET).out,
        }
        assert len(shown) == 1

    def test_several_files_are_one_report(self, tmp_path: Path) -> None:
        """A mail and its answer, and what is pasted, are read together."""
        (tmp_path / "one.txt").write_text("Display is dark.", encoding="utf-8")
        (tmp_path / "two.txt").write_text("Fuse is blown.", encoding="utf-8")
        done = run("triage", "one.txt", "-", "two.txt", "--format", "json", stdin="Flow is negative.", cwd=tmp_path)
        findings = document(done)["findings"]
        assert {"display-dark", "fuse-open", "flow-negative"} <= {name for name, here in findings.items() if here}

    def test_the_same_call_prints_the_same(self) -> None:
        """Nothing hangs on the run, the hash seed or the clock."""
        outputs = {run("triage", "--format", "json", stdin=TICKET, PYTHONHASHSEED=seed).out for seed in ("1", "2")}
        assert len(outputs) == 1


_CAUSE = {
    "id": str,
    "title": str,
    "explanation": str,
    "area": str,
    "probability": float,
    "signal": str,
    "supporting": list,
    "opposing": list,
}
_NEXT = {
    "kind": str,
    "id": str,
    "title": str,
    "minutes": (int, float),
    "saves_minutes": (int, float),
    "because": str,
    "cautions": list,
    "steps": list,
}
_CAUTION = {"signal": str, "hazard": str, "avoid": list, "source": str}


def _fits(thing: dict[str, Any], contract: dict[str, Any]) -> bool:
    return all(name in thing and isinstance(thing[name], kind) for name, kind in contract.items())


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    """Return the document of one ticket."""
    return document(run("triage", "--format", "json", stdin=WITH_GREETING))


class TestJson:
    """The contract for other programs."""

    def test_keys_and_kinds(self, told: dict[str, Any]) -> None:
        """Every key that is promised is there, of the kind that is promised."""
        contract = {
            "format": str,
            "understood": list,
            "not_understood": list,
            "findings": dict,
            "causes": list,
            "combination": list,
            "unexplained": list,
            "next": dict,
            "questions": list,
            "cautions": list,
        }
        assert _fits(told, contract)
        assert told["format"] == "diagnosis/4"

    def test_understood(self, told: dict[str, Any]) -> None:
        """Each item quotes the report; a figure has quantity, value and unit."""
        assert all(_fits(each, {"quote": str}) and {"finding", "present"} <= each.keys() for each in told["understood"])
        assert any(each["finding"] == "display-dark" and each["present"] is True for each in told["understood"])
        assert any(each["finding"] == "fuse-open" and each["present"] is False for each in told["understood"])
        figures = [each for each in told["understood"] if "quantity" in each]
        assert ("supply-voltage", 230.0, "V") in [(each["quantity"], each["value"], each["unit"]) for each in figures]
        assert all(isinstance(each["value"], int | float | str) for each in figures)
        assert all(isinstance(text, str) for text in told["not_understood"])

    def test_findings(self, told: dict[str, Any]) -> None:
        """Ids with true or false."""
        assert told["findings"]["display-dark"] is True
        assert told["findings"]["fuse-open"] is False
        assert {type(value) for value in told["findings"].values()} == {bool}

    def test_causes(self, told: dict[str, Any]) -> None:
        """Most probable first, each with what supports and what opposes it."""
        causes = told["causes"]
        assert all(_fits(cause, _CAUSE) for cause in causes)
        shares = [cause["probability"] for cause in causes]
        assert shares == sorted(shares, reverse=True)
        assert all(0 <= share <= 1 for share in shares)
        assert len({cause["id"] for cause in causes}) == len(causes) > 100
        signals = {"failure", "function check", "out of specification", "maintenance required", "good"}
        assert {cause["signal"] for cause in causes} <= signals

    def test_combination_and_unexplained(self, told: dict[str, Any]) -> None:
        """Both name what is there."""
        assert set(told["combination"]) <= {cause["id"] for cause in told["causes"]}
        assert told["combination"]
        assert set(told["unexplained"]) <= set(told["findings"])

    def test_next_questions_and_cautions(self, told: dict[str, Any]) -> None:
        """The next step, the best questions, and the cautions of the step."""
        assert _fits(told["next"], _NEXT)
        assert told["next"]["kind"] in ("check", "remedy", "escalate")
        assert 1 <= len(told["questions"]) <= 3
        assert all(_fits(each, {"check": str, "ask": str}) for each in told["questions"])
        assert all(_fits(each, _CAUTION) for each in [*told["cautions"], *told["next"]["cautions"]])

    def test_top_limits_the_causes(self, told: dict[str, Any]) -> None:
        """The first three are the first three of all."""
        three = document(run("triage", "--format", "json", "--top", "3", stdin=WITH_GREETING))
        assert [cause["id"] for cause in three["causes"]] == [cause["id"] for cause in told["causes"][:3]]


def test_markdown() -> None:
    """A ticket gets headings, and the causes as a list."""
    done = run("triage", "--format", "markdown", "--top", "2", stdin=TICKET)
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("# Diagnosis\n")
    causes = done.out.split("## Causes, most probable first")[1].split("##")[0].splitlines()
    numbered = [line for line in causes if line[:1].isdigit()]
    assert 1 <= len(numbered) <= 2
    assert numbered[0].startswith("1. **")
    assert any(line.startswith("   - for: ") for line in causes)


class TestDataSheet:
    """What is known of the meter before anybody looks."""

    def test_counts(self, tmp_path: Path) -> None:
        """A meter without a current output has no fault of a current loop."""
        (tmp_path / "meter.yaml").write_text("output: pulse\nupper-range-value: 100 m3/h\n", encoding="utf-8")
        told = document(run("triage", "--data-sheet", "meter.yaml", "--format", "json", stdin=TICKET, cwd=tmp_path))
        assert "load-too-high" not in {cause["id"] for cause in told["causes"]}

    @pytest.mark.parametrize(
        ("line", "told"),
        [
            ("nominal-voltge: 100 V", "did you mean `nominal-voltage`?"),
            ("nominal-voltage: 100 mA", "`mA` does not measure the same thing as `V`"),
            ("nominal-voltage: 100", "`100` has no unit"),
            ("nominal-voltage: 1,250 V", "`1,250 V` is not clear; did you mean `1250 V` or `1.250 V`?"),
            ("nominal-voltage: 1e9 V", "beyond anything plausible"),
            ("fed-by: batery", "did you mean `battery`?"),
            ("power: 100 furlongz", "`furlongz` is not a known unit"),
            ("power: 5 9**9**9**9", "is not a known unit"),
            ('power: "\\e[31m"', "the character U+001B cannot be seen"),
            ("\tpower: 100 W", "there is a tab where YAML needs spaces"),
        ],
    )
    def test_problems_are_told_with_their_place(self, tmp_path: Path, line: str, told: str) -> None:
        """Status 1, nothing on standard output, and file, line and help on the other."""
        (tmp_path / "meter.yaml").write_text(f"# invented\n{line}\n", encoding="utf-8")
        done = run(*LAMP, "triage", "--data-sheet", "meter.yaml", stdin=NO_LIGHT, cwd=tmp_path)
        assert (done.status, done.out) == (1, "")
        assert "--> meter.yaml:2:" in done.err
        assert told in done.err

    def test_all_problems_at_once(self, tmp_path: Path) -> None:
        """Two wrong fields are told together."""
        (tmp_path / "meter.yaml").write_text("power: 100\nplace: moon\n", encoding="utf-8")
        assert run(*LAMP, "triage", "--data-sheet", "meter.yaml", stdin=NO_LIGHT, cwd=tmp_path).err.count("error[") == 2

    def test_a_decimal_comma_is_read(self, tmp_path: Path) -> None:
        """`0,23 kV` is 230 V."""
        (tmp_path / "meter.yaml").write_text("nominal-voltage: 0,23 kV\n", encoding="utf-8")
        assert run(*LAMP, "triage", "--data-sheet", "meter.yaml", stdin=NO_LIGHT, cwd=tmp_path).status == 0


class TestBadReports:
    """What gets pasted."""

    @pytest.mark.parametrize("text", ["", " \n\t\r\n ", "\u200b\ufeff"], ids=["nothing", "blanks", "invisible"])
    def test_an_empty_report(self, text: str) -> None:
        """Status 1 and an example of what to paste."""
        done = run(*LAMP, "triage", stdin=text)
        assert (done.status, done.out) == (1, "")
        assert "the report is empty" in done.err

    @pytest.mark.parametrize(
        "data", [bytes(range(256)) * 40, b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"], ids=["all", "png"]
    )
    def test_a_binary(self, data: bytes) -> None:
        """Status 1, and how to save a report as text."""
        done = run(*LAMP, "triage", stdin=data)
        assert (done.status, done.out) == (1, "")
        assert "this is not plain text" in done.err

    def test_a_megabyte(self) -> None:
        """Of a very long report the beginning counts, and it is said how much was read."""
        text = "The display is dark.\n" + "Pump two was serviced on Monday by the usual people. " * 18_500
        told = document(run("triage", "--format", "json", stdin=text))
        assert told["findings"]["display-dark"] is True
        assert any("characters were read" in doubt for doubt in told["doubts"])

    @pytest.mark.parametrize("form", FORMATS)
    def test_escape_sequences_and_markup_are_text(self, form: str) -> None:
        """No escape byte comes out in any format, and what looks like markup is shown as it was pasted."""
        text = (
            "\x1b[31mDisplay\x1b[0m is dark.\x1b]0;title\x07 \x9b2J "
            "[red]Regards to all of you[/red] {bold}there{/bold}\n"
        )
        done = run("triage", "--format", form, stdin=text)
        assert (done.status, done.err) == (0, "")
        assert "\x1b" not in done.out
        assert "\\u001b" not in done.out
        assert "\x9b" not in done.out
        shown = done.out.replace("\\[", "[").replace("\\]", "]") if form == "markdown" else done.out
        assert "[red]Regards" in shown
        assert "[/red]" in shown

    def test_windows_and_latin_text(self) -> None:
        """A report in another encoding, with foreign line ends, is read."""
        told = document(run("triage", "--format", "json", stdin="Display is dark, 38 m³/h before\r\n".encode("cp1252")))
        assert told["findings"]["display-dark"] is True

    @pytest.mark.parametrize("figure", ["400 A", "-90000 A"])
    def test_an_absurd_value_is_asked_about_again(self, figure: str) -> None:
        """It is not believed, and somebody is asked to check it."""
        told = document(run("triage", "--format", "json", stdin=f"We measured a loop current of {figure}."))
        assert not [each for each in told["understood"] if each.get("quantity") == "loop-current"]
        assert any(figure.lstrip("-") in doubt for doubt in told["doubts"])

    def test_an_unknown_unit_is_not_believed(self) -> None:
        """A figure in furlongs is no current."""
        told = document(run("triage", "--format", "json", stdin="Display dark. The loop current is 12 furlongs."))
        assert not [each for each in told["understood"] if "quantity" in each]

    def test_contradictory_statements_are_told(self) -> None:
        """The later one counts, and both are shown."""
        told = document(run("triage", "--format", "json", stdin="The display is dark. The display is not dark."))
        assert [each["finding"] for each in told["contradictions"]] == ["display-dark"]

    def test_nothing_understood(self) -> None:
        """A report about something else gets a diagnosis that claims nothing."""
        told = document(run("triage", "--format", "json", stdin="Lunch was fine, thanks for asking everybody."))
        assert told["not_understood"]
        assert told["findings"] == {}
        assert (told["about"], told["causes"]) == ("no flow meter", [])


class TestWrongUse:
    """What people mistype."""

    @pytest.mark.parametrize(
        ("arguments", "help"),
        [
            (("tirage",), "did you mean `triage`?"),
            (("xyz",), "the commands are: triage"),
            (("triage", "--fromat", "json"), "--format"),
            (("triage", "--format", "xml"), "'text', 'json', 'markdown'"),
            (("triage", "--top", "0"), "0 is not in the range"),
            (("triage", "--top", "many"), "many"),
        ],
        ids=" ".join,
    )
    def test_status_2_and_what_was_meant(self, arguments: tuple[str, ...], help: str) -> None:
        """Nothing on standard output, and what would be right."""
        done = run(*arguments, stdin=TICKET)
        assert (done.status, done.out) == (2, "")
        assert help in done.err

    @pytest.mark.parametrize(
        ("arguments", "named"),
        [
            (("triage", "nowhere.txt"), "nowhere.txt"),
            (("triage", "."), "the report . cannot"),
            (("triage", "--data-sheet", "nowhere.yaml"), "nowhere.yaml"),
            (("--rules", "nowhere", "triage"), "folder nowhere;"),
        ],
    )
    def test_a_file_that_is_not_there(self, arguments: tuple[str, ...], named: str, tmp_path: Path) -> None:
        """Status 1, and which file it was."""
        done = run(*arguments, stdin=TICKET, cwd=tmp_path)
        assert (done.status, done.out) == (1, "")
        assert done.err.startswith("error")
        assert named in done.err

    def test_a_file_name_cannot_steer_the_terminal(self, tmp_path: Path) -> None:
        """An escape sequence in a name is spelt out."""
        assert "\\x1b[31mred" in run("triage", "\x1b[31mred", cwd=tmp_path).err

    def test_no_arguments_show_the_help(self) -> None:
        """Three people find their command."""
        done = run()
        for command in ("triage", "interview", "rules", "cases", "completion"):
            assert command in done.out + done.err


class TestTerminalsAndPipes:
    """Where output goes."""

    @pytest.mark.parametrize("form", FORMATS)
    def test_a_locale_of_ascii(self, form: str) -> None:
        """What the terminal cannot show is replaced; JSON has escapes and loses nothing."""
        done = run(
            *LAMP, "triage", "--format", form, stdin="No light. Many greetings from the µ lab of Zürich.\n",
            LC_ALL="C", PYTHONIOENCODING="ascii", PYTHONUTF8="0",
        )  # fmt: skip
        assert (done.status, done.err) == (0, "")
        assert done.out.isascii() or form == "markdown"
        if form != "text":
            assert "µ lab of Zürich" in (str(document(done)) if form == "json" else done.out)

    def test_a_narrow_terminal(self) -> None:
        """Forty columns are enough."""
        done = run(*LAMP, "triage", stdin=NO_LIGHT, COLUMNS="40")
        assert done.status == 0
        assert max(map(len, done.out.splitlines())) <= 40

    def test_no_colour(self) -> None:
        """NO_COLOR takes nothing but colour away."""
        assert run(*LAMP, "triage", stdin=NO_LIGHT, NO_COLOR="1").out == run(*LAMP, "triage", stdin=NO_LIGHT).out

    @pytest.mark.parametrize("call", ["triage <&-", "triage - <&-"])
    def test_a_closed_standard_input(self, call: str, tmp_path: Path) -> None:
        """Wrong use, in words."""
        done = shell(f"diagnose {RULES} {call}", tmp_path)
        assert (done.status, done.out) == (2, "")
        assert "there is no report" in done.err

    @pytest.mark.parametrize("form", FORMATS)
    def test_a_closed_standard_output(self, form: str, tmp_path: Path) -> None:
        """Nobody listens, and nobody complains."""
        (tmp_path / "ticket.txt").write_text(NO_LIGHT, encoding="utf-8")
        done = shell(f"diagnose {RULES} triage --format {form} ticket.txt >&-", tmp_path)
        assert (done.status, done.err) == (0, "")

    @pytest.mark.parametrize("form", FORMATS)
    def test_a_reader_that_leaves_early(self, form: str, tmp_path: Path) -> None:
        """`| head -1` gets its line, and nothing is said about the rest."""
        (tmp_path / "ticket.txt").write_text(NO_LIGHT, encoding="utf-8")
        done = shell(f"diagnose {RULES} triage --format {form} ticket.txt | head -1", tmp_path)
        assert (done.status, done.err) == (0, "")
        assert done.out.count("\n") == 1

    @pytest.mark.parametrize("form", FORMATS)
    def test_a_full_disk(self, form: str, tmp_path: Path) -> None:
        """Status 1 and the system's reason."""
        (tmp_path / "ticket.txt").write_text(NO_LIGHT, encoding="utf-8")
        done = shell(f"diagnose {RULES} triage --format {form} ticket.txt >/dev/full", tmp_path)
        assert (done.status, done.err) == (1, "error: the output cannot be written: No space left on device\n")


def test_another_rule_book() -> None:
    """`--rules` and DIAGNOSE_RULES take a rule book of one's own."""
    told = document(run(*LAMP, "triage", "--format", "json", stdin="No light."))
    assert told["causes"][0]["id"] == "bulb-blown"
    assert document(run("triage", "--format", "json", stdin="No light.", DIAGNOSE_RULES=LAMP[1])) == told


PAIRS = "display [m3/h];control system [m3/h]\n0;20,1\n24,8;39,7\n50,3;60,4\n74,9;80,0\n"
"""Invented: a receiver that takes 4 to 20 mA for 0 to 20 mA, range 0 to 100 m³/h."""


class TestReadingsBesideAReport:
    """Tables of readings and logs are analysed, and their findings count like what was said."""

    @pytest.fixture
    def folder(self, tmp_path: Path) -> Path:
        """Return a folder with a report, pairs and a log."""
        (tmp_path / "ticket.txt").write_text("The screen in the control room does not show what the meter shows.\n")
        (tmp_path / "pairs.csv").write_text(PAIRS)
        (tmp_path / "log.csv").write_bytes((shipped_folder("cases") / "readings" / "three_days.csv").read_bytes())
        return tmp_path

    def test_readings_decide(self, folder: Path) -> None:
        """With the pairs the cause is plain; each finding says which figures it rests on."""
        found = document(
            run(
                "triage",
                "ticket.txt",
                "--readings",
                "pairs.csv",
                "--compared",
                "control-system",
                "--format",
                "json",
                cwd=folder,
            )
        )
        assert found["causes"][0]["id"] == "receiver-reads-zero-twenty"
        assert found["findings"]["control-system-disagrees"] is True
        assert found["analyses"][0]["about"] == "4 pairs of readings, pairs.csv"
        reasons = [each["origin"] for each in found["causes"][0]["supporting"]]
        assert any("comparison of 4 pairs" in each for each in reasons)

    @pytest.mark.parametrize("form", FORMATS)
    def test_a_pasted_table_is_found(self, form: str, folder: Path) -> None:
        """In a ticket, heading and all; it is not listed as not understood."""
        report = f"Display is dark.\n\n{PAIRS}\nThanks\n"
        done = run("triage", "--format", form, stdin=report, cwd=folder)
        assert done.status == 0
        assert "4 pairs of readings, the table in the report" in done.out.replace("\\", "")
        if form == "json":
            assert document(done)["not_understood"] == []
            assert document(done)["causes"][0]["id"] == "receiver-reads-zero-twenty"

    def test_a_pasted_table_that_cannot_be_used_is_asked_about(self, folder: Path) -> None:
        """No unit: asked back, and the rest of the report counts all the same."""
        report = "Display is dark.\nreference;meter\n10;12\n20;24\n"
        found = document(run("triage", "--format", "json", stdin=report, cwd=folder))
        assert any("the table of readings in the report cannot be used" in each for each in found["doubts"])
        assert found["findings"]["display-dark"] is True
        assert found["analyses"] == []

    def test_a_log_is_taken_along(self, folder: Path) -> None:
        """Stuck, a zero at standstill, drop-outs."""
        done = run("triage", "ticket.txt", "--trend", "log.csv", cwd=folder)
        assert "From the log log.csv" in done.out
        assert "+  shows a value that never moves" in done.out

    def test_readings_alone_are_enough(self, folder: Path) -> None:
        """Nobody has to write a report to have them diagnosed."""
        found = document(run("triage", "--trend", "log.csv", "--format", "json", stdin=None, cwd=folder))
        assert found["findings"]["reading-at-standstill"] is True

    @pytest.mark.parametrize(
        ("options", "told"),
        [
            (("--readings", "nothere.csv"), "nothere.csv cannot be read"),
            (("--trend", "nothere.csv"), "nothere.csv cannot be read"),
            (("--readings", "ticket.txt"), "ticket.txt"),
            (("--trend", "log.csv", "--unit", "parsec"), "parsec"),
        ],
    )
    def test_what_cannot_be_read_is_told(self, options: tuple[str, ...], told: str, folder: Path) -> None:
        """With its name; no diagnosis is printed without it."""
        done = run("triage", "ticket.txt", *options, cwd=folder)
        assert done.status == 1
        assert done.out == ""
        assert told in done.err
