"""``diagnose rules coverage`` and ``diagnose rules simulate`` as trainers call them."""

from __future__ import annotations

import json
import shutil
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path

import pexpect
import pytest

from tests.commands.running import LAMP, environment, run
from tests.rule_book.lamps import lamp_book

RECORDED = Path(__file__).parent.parent / "cases" / "recorded"
SMALL = ("--single", "4", "--double", "2", "--less-skilled", "2")


class TestCoverage:
    """What the rule book covers."""

    def test_the_rule_book_that_came_along(self) -> None:
        """Status 0; figures, groups and gaps, with the cases that came along."""
        done = run("rules", "coverage")
        assert (done.status, done.err) == (0, "")
        assert "detected: shows a symptom or complaint    100.0 %" in done.out
        assert "isolated to a group of at most three      100.0 %" in done.out
        assert "Areas with fewer than 4 cases: " in done.out

    def test_a_rule_book_of_ones_own(self) -> None:
        """Its causes, and no cases that belong to another."""
        done = run(*LAMP, "rules", "coverage")
        assert done.status == 0
        assert done.out.startswith(
            "Lamps (invented)\n  2 causes, 3 findings, 3 checks, 2 inference rules, 1 cautions\n"
        )
        assert "  isolated to a group of one                100.0 %\n" in done.out
        assert "  Symptoms with fewer than 8 phrases: 1\n    lamp-dark (2)\n" in done.out
        assert "Areas with few cases: not counted" in done.out

    def test_cases_of_ones_own(self) -> None:
        """Counted by area of the confirmed cause."""
        done = run(*LAMP, "rules", "coverage", "--cases", RECORDED)
        assert "  Areas with fewer than 4 cases: 2\n    feed (1)\n    lamp (1)\n" in done.out

    def test_no_such_cases(self) -> None:
        """Status 1 and the path."""
        done = run(*LAMP, "rules", "coverage", "--cases", "nowhere")
        assert (done.status, done.out) == (1, "")
        assert "there is no case or folder of cases nowhere" in done.err

    def test_json(self) -> None:
        """One object alone."""
        covered = json.loads(run(*LAMP, "rules", "coverage", "--format", "json").out)
        assert covered["format"] == "coverage/1"
        assert covered["isolation"] == {"1": 1.0, "2": 1.0, "3": 1.0}
        assert covered["breadth"]["by_area"] == {"feed": 1, "lamp": 1}

    def test_a_broken_rule_book(self, tmp_path: Path) -> None:
        """Status 1 with its problems."""
        done = run("--rules", lamp_book(tmp_path, areas__more="id: more\n"), "rules", "coverage")
        assert (done.status, done.out) == (1, "")
        assert done.err.startswith("error[missing-field]")


class TestSimulate:
    """Invented faults, interviewed."""

    def test_figures(self) -> None:
        """Status 0; every group of figures, a line now and then in place of a bar."""
        done = run(*LAMP, "rules", "simulate", *SMALL, "--processes", "1")
        assert (done.status, done.err.splitlines()[0]) == (0, "50 of 208 faults")
        assert done.out.startswith(
            "Simulated faults: 4 single, 2 double, 2 with less skilled people; 5 % of answers wrong; seed 1\n"
        )
        for part in ("Single faults, met by", "Double faults, met by", "Safety: ", "faults by area"):
            assert part in done.out

    def test_processes_change_nothing(self) -> None:
        """One or two; another seed draws other faults."""
        told = [run(*LAMP, "rules", "simulate", *SMALL, "--format", "json", "--processes", each).out for each in "12"]
        assert told[0] == told[1]
        assert json.loads(told[0])["complete"] is True
        other = run(*LAMP, "rules", "simulate", *SMALL, "--format", "json", "--processes", "1", "--seed", "2").out
        assert json.loads(other)["faults"] != json.loads(told[0])["faults"]

    @pytest.mark.parametrize(
        "option", [("--wrong", "1.5"), ("--wrong", "nan"), ("--single", "-1"), ("--processes", "0")]
    )
    def test_wrong_use(self, option: tuple[str, str]) -> None:
        """Shares are shares, and numbers are not below nothing."""
        assert run(*LAMP, "rules", "simulate", *option).status == 2

    def test_ctrl_c_prints_what_is_there(self) -> None:
        """On a terminal a bar counts; Ctrl-C ends both processes with the figures so far, status 130."""
        arguments = ["-m", "diagnose", *LAMP, "rules", "simulate", "--single", "90000", "--processes", "2"]
        env = environment(TERM="xterm", COLUMNS="80", NO_COLOR="1")
        child = pexpect.spawn(
            sys.executable,
            arguments,
            env=env,
            dimensions=(24, 80),
            encoding="utf-8",
            timeout=120,
            preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),  # as at a person's terminal
        )
        try:
            child.expect(r"[1-9]\d*/90900")
            child.sendintr()
            child.expect("Left early: the figures are those of the faults that were finished.")
            child.expect("Safety: 0 violations")
            child.expect(pexpect.EOF)
        finally:
            child.close(force=True)
        assert child.exitstatus == 130

    def test_a_job_in_the_background_is_ended_by_a_signal(self) -> None:
        """It writes a line now and then, and prints the figures so far when it is told to end."""
        arguments = [sys.executable, "-m", "diagnose", *LAMP, "rules", "simulate", "--single", "90000"]
        with subprocess.Popen(
            [*arguments, "--processes", "1"],
            env=environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as job:
            assert job.stdout is not None
            assert job.stderr is not None
            assert job.stderr.readline() == "50 of 90900 faults\n"
            job.terminate()
            printed = job.stdout.read()
        assert "Left early: the figures are those of the faults that were finished." in printed
        assert job.returncode == 130


def test_neither_needs_to_write_anything(tmp_path: Path) -> None:
    """Run in a folder of its own, nothing is left there."""
    shutil.copytree(LAMP[1], tmp_path / "rules")
    run("--rules", "rules", "rules", "coverage", cwd=tmp_path)
    run("--rules", "rules", "rules", "simulate", *SMALL, "--processes", "1", cwd=tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["rules"]
