"""``diagnose rules``, ``cases`` and ``completion`` as trainers and newcomers call them."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import jsonschema
import pytest

from diagnose.cases.events import Disturbed, PlantChanged
from diagnose.cases.journal import Journal
from diagnose.observations import FindingSeen
from tests.commands.running import LAMP, run, shell
from tests.rule_book.lamps import MINIMAL, lamp_book

FORMS = ((), ("--format", "markdown"), ("--format", "json"))
RECORDED = Path(__file__).parent.parent / "cases" / "recorded"


class TestRules:
    """The trainer."""

    def test_the_rule_book_that_came_along_is_fine(self) -> None:
        """No problem, and what it holds."""
        done = run("rules", "check")
        assert (done.status, done.err) == (0, "")
        assert done.out.startswith("fine: ")
        assert " causes in " in done.out

    def test_a_rule_book_of_ones_own(self) -> None:
        """The folder may be named."""
        assert run("rules", "check", MINIMAL).out.startswith("fine: 2 causes in 2 areas")

    def test_a_broken_rule_book(self, tmp_path: Path) -> None:
        """Status 1, each problem in full with its place, and how many there are."""
        lamp_book(tmp_path, areas__more="id: more\ntitel: Wire\ntitle: Wire\n", causes__x="id: [")
        done = run("rules", "check", "rules", cwd=tmp_path)
        assert (done.status, done.err) == (1, "2 problems found\n")
        assert "error[unknown-field]: there is no field `titel` here\n  --> rules/areas/more.yaml:2:1\n" in done.out
        assert "help: did you mean `title`?" in done.out
        assert "--> rules/causes/x.yaml:" in done.out

    def test_problems_for_editors(self, tmp_path: Path) -> None:
        """One line a problem."""
        lamp_book(tmp_path, areas__more="id: more\ntitel: Wire\ntitle: Wire\n")
        done = run("rules", "check", "--one-line", "rules", cwd=tmp_path)
        assert done.out == (
            "rules/areas/more.yaml:2:1: error[unknown-field] there is no field `titel` here (did you mean `title`?)\n"
        )
        assert (done.status, done.err) == (1, "1 problem found\n")

    def test_a_broken_rule_book_diagnoses_nothing(self, tmp_path: Path) -> None:
        """Other commands refuse it with the same problems."""
        rules = lamp_book(tmp_path, areas__more="id: more\n")
        done = run("--rules", rules, "triage", stdin="No light.")
        assert (done.status, done.out) == (1, "")
        assert done.err.startswith("error[missing-field]: `title` is missing")

    @pytest.mark.parametrize("folder", ["nowhere", "file"])
    def test_no_folder(self, folder: str, tmp_path: Path) -> None:
        """Status 1 and the folder's name."""
        (tmp_path / "file").write_text("", encoding="utf-8")
        done = run("rules", "check", folder, cwd=tmp_path)
        assert (done.status, done.out) == (1, "")
        assert f"there is no folder {folder}" in done.err

    def test_show(self) -> None:
        """An entry with its fields and everything that refers to it."""
        done = run(*LAMP, "rules", "show", "voltage-missing")
        assert (done.status, done.err) == (0, "")
        assert done.out.startswith("findings: voltage-missing\n")
        assert "cause supply-missing: shows 0.9" in done.out
        assert "rule voltage-is-missing: present" in done.out

    def test_show_what_is_not_there(self) -> None:
        """Status 1 and what may have been meant."""
        done = run(*LAMP, "rules", "show", "voltage-mising")
        assert (done.status, done.out) == (1, "")
        assert "did you mean `voltage-missing`?" in done.err

    @pytest.mark.parametrize(
        ("part", "line"),
        [
            ("causes", "bulb-blown      Bulb blown"),
            ("findings", "lamp-dark        lamp is dark"),
            ("checks", "ask-lamp-dark    Is the lamp dark?"),
            ("quantities", "voltage           voltage at the lamp"),
            ("cautions", "shock  Electric shock"),
            ("data-sheet", "nominal-voltage  nominal voltage"),
        ],
    )
    def test_ids(self, part: str, line: str) -> None:
        """Ids with titles, one a line."""
        done = run(*LAMP, "rules", "ids", part)
        assert done.status == 0
        assert line in done.out.splitlines()

    def test_ids_of_nothing(self) -> None:
        """Wrong use, and the parts there are."""
        done = run("rules", "ids", "symptoms")
        assert done.status == 2
        assert "'causes', 'findings'" in done.err

    def test_a_reader_that_leaves_early(self, tmp_path: Path) -> None:
        """`rules ids findings | head -1` is quiet about the rest."""
        done = shell("diagnose rules ids findings | head -1", tmp_path)
        assert (done.status, done.err, done.out.count("\n")) == (0, "", 1)


class TestCases:
    """Recorded cases."""

    def test_replay_of_cases_that_come_out_right(self) -> None:
        """Status 0, one line a case, and a sum."""
        done = run(*LAMP, "cases", "replay", RECORDED)
        assert (done.status, done.err) == (0, "")
        assert done.out.splitlines() == [
            "fine   bulb-blown-told: bulb-blown 1.",
            "fine   supply-missing-measured: supply-missing 1.",
            "2 cases (2 invented): a confirmed cause first in 2, "
            "all confirmed causes in the first three in 2, 0 failed",
        ]

    def test_replay_of_invented_and_published_cases(self, tmp_path: Path) -> None:
        """The published ones are summed up again by themselves."""
        shutil.copytree(RECORDED, tmp_path / "cases")
        path = tmp_path / "cases" / "bulb_blown_told.yaml"
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("invented: true", "source: a handbook of lamps"), encoding="utf-8")
        done = run(*LAMP, "cases", "replay", "cases", cwd=tmp_path)
        assert done.out.splitlines()[-1] == (
            "2 cases (1 invented, 1 published): a confirmed cause first in 2, "
            "all confirmed causes in the first three in 2, 0 failed; published alone: "
            "a confirmed cause first in 1, all confirmed causes in the first three in 1"
        )

    def test_replay_of_a_case_that_comes_out_wrong(self, tmp_path: Path) -> None:
        """Status 1, and why."""
        path = tmp_path / "bulb_blown_told.yaml"
        text = (RECORDED / path.name).read_text(encoding="utf-8")
        path.write_text(text.replace("[bulb-blown]", "[supply-missing]"), encoding="utf-8")
        done = run(*LAMP, "cases", "replay", path)
        assert done.status == 1
        assert "`supply-missing` ranks 2, must be within the first 1; first is `bulb-blown`" in done.out

    def test_replay_of_a_case_with_a_mistake(self, tmp_path: Path) -> None:
        """Status 1, and the place."""
        shutil.copy(RECORDED / "bulb_blown_told.yaml", tmp_path / "other_name.yaml")
        done = run(*LAMP, "cases", "replay", ".", cwd=tmp_path)
        assert (done.status, done.out) == (1, "")
        assert done.err.startswith("error[file-name]: id and file name differ\n  --> other_name.yaml:1:5\n")

    def test_a_case_that_confirms_nothing(self, tmp_path: Path) -> None:
        """A case without a confirmed cause is refused in words."""
        path = tmp_path / "bulb_blown_told.yaml"
        text = (RECORDED / path.name).read_text(encoding="utf-8")
        path.write_text(text.replace("[bulb-blown]", "[]"), encoding="utf-8")
        done = run(*LAMP, "cases", "replay", path)
        assert done.status == 1
        assert "no cause is confirmed" in done.err

    def test_replay_of_nothing(self, tmp_path: Path) -> None:
        """A path that is not there is a file that is not there."""
        done = run("cases", "replay", "nowhere", cwd=tmp_path)
        assert (done.status, done.out) == (1, "")
        assert "nowhere" in done.err

    def test_list_of_interviews(self, tmp_path: Path) -> None:
        """On standard output, the folder beside it; an empty file is no case."""
        Journal.start(tmp_path, {}, "20260301-101500").close()
        done = run("cases", "list", DIAGNOSE_CASES=str(tmp_path))
        assert (done.status, done.out.splitlines()[1].split()[0]) == (0, "20260301-101500")
        assert done.err == f"1 in {tmp_path}\n"
        (tmp_path / "empty.case").write_text("", encoding="utf-8")
        done = run("cases", "list", DIAGNOSE_CASES=str(tmp_path))
        assert (done.status, "20260301-101500" in done.out, "empty.case is empty" in done.err) == (1, True, True)
        assert run("cases", "list", DIAGNOSE_CASES=str(tmp_path / "none")).status == 0

    def test_an_interview_is_shown_with_what_is_still_disturbed(self, tmp_path: Path) -> None:
        """In each form, for whoever takes over; the JSON keeps to its schema."""
        disturbed, isolated = (
            Disturbed(step="look-at-bulb", what=("bulb-out",)),
            PlantChanged(state="supply", value="isolated"),
        )
        with Journal.start(tmp_path, {}, "night") as journal:
            journal.add(1, FindingSeen(finding="lamp-dark", present=True, quote="no light"))
            journal.add(2, disturbed, isolated)
        shown = [run(*LAMP, "cases", "show", "night", *form, DIAGNOSE_CASES=str(tmp_path)) for form in FORMS]
        assert [(done.status, done.err) for done in shown] == [(0, "")] * 3
        for done in shown[:2]:
            assert "NOT PUT BACK: bulb out of its socket" in " ".join(done.out.split())
            assert "NOT PUT BACK: supply is isolated; back to live only once all" in " ".join(done.out.split())
        told = json.loads(shown[2].out)
        assert (told["disturbed"][0]["id"], told["left"][0]["stands"]) == ("bulb-out", ["isolated"])
        assert told["understood"][0]["quote"] == "no light"
        jsonschema.validate(told, json.loads(run("schema", "diagnosis").out))

    def test_an_interview_that_is_not_there_cannot_be_shown(self, tmp_path: Path) -> None:
        """Status 1, and which there are."""
        done = run(*LAMP, "cases", "show", "nowhere", DIAGNOSE_CASES=str(tmp_path))
        assert (done.status, done.out) == (1, "")
        assert "there is no case" in done.err


class TestCompletion:
    """What a shell needs."""

    @pytest.mark.parametrize("name", ["bash", "zsh", "fish"])
    def test_a_script_for_each_shell(self, name: str) -> None:
        """The script asks the command by an environment variable."""
        done = run("completion", name)
        assert done.status == 0
        assert "_DIAGNOSE_COMPLETE" in done.out

    def test_another_shell(self) -> None:
        """Wrong use, and the shells there are."""
        done = run("completion", "csh")
        assert done.status == 2
        assert "'bash', 'zsh', 'fish'" in done.err

    def test_the_command_answers_the_script(self, tmp_path: Path) -> None:
        """Half a word of a command is completed."""
        program = "import sys; sys.argv[0] = 'diagnose'; from diagnose.commands.main import main; main()"
        asked = "_DIAGNOSE_COMPLETE=bash_complete COMP_WORDS='diagnose tri' COMP_CWORD=1"
        done = shell(f'{asked} "{sys.executable}" -c "{program}"', tmp_path)
        assert done.out == "plain,triage\n"


def test_version_and_help() -> None:
    """Both are answers, not errors."""
    assert run("--version").out.startswith("diagnose, version ")
    for command in ((), ("triage",), ("rules",), ("cases",), ("interview",), ("completion",)):
        done = run(*command, "--help")
        assert (done.status, done.err) == (0, "")
        assert done.out.startswith("Usage: ")
