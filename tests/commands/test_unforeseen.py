"""An error of our own, and a reader that has gone: few words, a status of its own, nothing lost."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands.running import LAMP, environment, run

PLANTED = """
import sys
import diagnose.{module} as module
def wrong(*_, **__):
    raise ZeroDivisionError("planted")
module.{name} = wrong
from diagnose.commands.main import main
sys.argv = ["diagnose", *sys.argv[1:]]
main()
"""


def planted(module: str, name: str, *arguments: str, typed: str = "", **env: str) -> subprocess.CompletedProcess[str]:
    """Run the command with an error planted in a function."""
    code = PLANTED.format(module=module, name=name)
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        input=typed,
        capture_output=True,
        text=True,
        env=environment(**env),
        check=False,
    )


def test_it_is_told_in_a_few_words_with_a_status_of_its_own(tmp_path: Path) -> None:
    """What was done, the version, where the details are, what to do with them; no traceback on the screen."""
    done = planted("commands.case_showing", "load", *LAMP, "cases", "show", "x", TMPDIR=str(tmp_path))
    assert done.returncode == 70
    assert "Traceback" not in done.stderr
    first, *rest = done.stderr.splitlines()
    assert first == "error: this program made a mistake (ZeroDivisionError: planted)"
    assert len(rest) <= 5
    assert "while running: diagnose --rules cases show x" in done.stderr
    (details,) = tmp_path.glob("diagnose-error-*.txt")
    assert str(details) in done.stderr
    assert "Traceback" in details.read_text(encoding="utf-8")
    assert details.stat().st_mode & 0o777 == 0o600


def test_where_no_file_can_be_written_the_details_follow(tmp_path: Path) -> None:
    """Better on the screen than nowhere."""
    code = PLANTED.format(module="commands.case_showing", name="load")
    code = code.replace("import sys\n", "import sys, tempfile\ntempfile.mkstemp = lambda **_: open('/nowhere/x')\n", 1)
    done = subprocess.run(
        [sys.executable, "-c", code, *LAMP, "cases", "show", "x"],
        capture_output=True,
        text=True,
        env=environment(),
        check=False,
    )
    assert done.returncode == 70
    assert "they follow" in done.stderr
    assert "Traceback" in done.stderr


def test_an_interview_loses_no_answer(tmp_path: Path) -> None:
    """It says where the case is; it goes on there once the error is mended."""
    how = (*LAMP, "interview", "--name", "desk")
    done = planted(
        "interview.views", "why", *how, typed="1\n3\nw\n", DIAGNOSE_CASES=str(tmp_path), TMPDIR=str(tmp_path)
    )
    assert done.returncode == 70, done.stderr
    assert "--resume desk" in done.stdout
    assert (tmp_path / "desk.case").read_bytes().count(b"\n") >= 3
    again = run(*LAMP, "interview", "--resume", "desk", stdin="l\n", DIAGNOSE_CASES=str(tmp_path))
    assert again.status == 0


COMMANDS = [
    ("rules", "check"),
    ("calc", "loop", "--flow", "37.5m3/h", "--urv", "100m3/h"),
    ("schema", "diagnosis"),
    ("--help",),
    ("rules", "coverage"),
]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_a_reader_that_has_gone_ends_it_quietly(command: tuple[str, ...]) -> None:
    """Everywhere with the same status, which says nothing about problems."""
    done = subprocess.run(
        ["bash", "-c", 'set -o pipefail; "$@" | true', "-", sys.executable, "-m", "diagnose", *LAMP, *command],
        capture_output=True,
        text=True,
        env=environment(),
        check=False,
    )
    assert (done.returncode, done.stderr) == (141, "")


def test_what_it_says_reaches_no_terminal_as_it_is(tmp_path: Path) -> None:
    """The words of an error may come from anywhere."""
    code = PLANTED.format(module="commands.case_showing", name="load").replace('"planted"', '"\\x1b[2J\\u202e"')
    done = subprocess.run(
        [sys.executable, "-c", code, *LAMP, "cases", "show", "x"],
        capture_output=True,
        text=True,
        env=environment(TMPDIR=str(tmp_path)),
        check=False,
    )
    assert done.returncode == 70
    assert "\\x1b[2J" in done.stderr
    assert "\x1b" not in done.stderr


def test_a_system_error_of_our_own_is_no_full_disk(tmp_path: Path) -> None:
    """It is ours, whatever its kind."""
    code = PLANTED.format(module="commands.case_showing", name="load")
    code = code.replace('ZeroDivisionError("planted")', 'PermissionError(13, "inner")')
    done = subprocess.run(
        [sys.executable, "-c", code, *LAMP, "cases", "show", "x"],
        capture_output=True,
        text=True,
        env=environment(TMPDIR=str(tmp_path)),
        check=False,
    )
    assert done.returncode == 70
    assert "PermissionError" in done.stderr


def test_where_nobody_can_be_told_the_status_stays() -> None:
    """Also of wrong use."""
    code = PLANTED.format(module="commands.case_showing", name="load")
    for arguments, status in ((["cases", "show", "x"], 70), (["nosuch"], 2)):
        with open("/dev/full", "w") as full:
            done = subprocess.run(
                [sys.executable, "-c", code, *LAMP, *arguments],
                stdout=full,
                stderr=full,
                env=environment(),
                check=False,
            )
        assert done.returncode == status


@pytest.mark.parametrize(
    "arguments",
    [("--rules", "x" * 300, "rules", "check"), ("cases", "show", "x" * 300), ("data-sheet", "new", "y" * 300)],
)
def test_a_name_that_the_system_refuses_is_no_mistake_of_ours(arguments: tuple[str, ...], tmp_path: Path) -> None:
    """Somebody pasted something else there."""
    done = run(*arguments, cwd=tmp_path)
    assert done.status in (1, 2)
    assert "this program made a mistake" not in done.err
    assert done.err.startswith("error")
