"""Eight programs write at the same moment: each case is one person's, and a cache is whole or not there.

Every program is a process of its own. All are started first and let go together: each waits for its first line.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from diagnose.cases.events import Note
from diagnose.cases.journal import Journal
from diagnose.errors import DiagnoseError
from diagnose.shipped import shipped_folder
from tests.commands.running import environment
from tests.hardening.tables import table
from tests.protocol.lamps import LAMP

WRITERS = 8

NOTES = 5
"""Notes that each program writes."""

OPEN = "is open in another interview; close it there first"


class Ended(NamedTuple):
    """How one program ended."""

    status: int
    out: str
    err: str


class Round(NamedTuple):
    """What came of programs that wrote at the same time: how many got through, were told to wait, and what broke."""

    through: int
    told: int
    broken: list[str]


def together(commands: Sequence[Sequence[str]], typed: Sequence[str], **changes: str) -> list[Ended]:
    """Run commands at the same time, and return how each ended."""
    jobs = [
        subprocess.Popen(
            [sys.executable, "-m", "diagnose", *command],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(**changes),
        )
        for command in commands
    ]
    for job, lines in zip(jobs, typed, strict=True):
        assert job.stdin is not None
        try:
            job.stdin.write(lines)
            job.stdin.flush()
        except BrokenPipeError:  # told to wait, and gone, before it read anything
            pass
    ended = []
    for job in jobs:
        out, err = job.communicate(timeout=600)
        ended.append(Ended(job.returncode, out, err))
    return ended


def notes_of(writer: int) -> list[str]:
    """Return what one person notes down."""
    return [f"{'x' * 40 * writer} writer {writer} saw {number}".strip() for number in range(NOTES)]


def lines_of(writer: int) -> str:
    """Return the same as it is typed, and the word to leave."""
    return "".join(f"n {note}\n" for note in notes_of(writer)) + "l\n"


def kept(folder: Path, name: str) -> list[str]:
    """Return the notes of a case, in order; raises BadInput where the case does not load."""
    return [each.event.text for each in Journal.read(folder, name).entries if isinstance(each.event, Note)]


def new_cases(rules: Path, folder: Path, named: bool) -> Round:
    """Start eight cases at once, under one name or all without: each has a file of its own with its own notes."""
    how = ("--name", "desk") if named else ()
    commands = [("--rules", str(rules), "interview", *how)] * WRITERS
    ended = together(commands, [lines_of(each) for each in range(WRITERS)], DIAGNOSE_CASES=str(folder))
    broken = [f"status {each.status}: {each.err}" for each in ended if each.status or each.err]
    found = sorted(kept(folder, path.stem) for path in folder.glob("*.case"))
    if found != sorted(notes_of(each) for each in range(WRITERS)):
        broken.append(f"notes are mixed or lost: {found}")
    return Round(WRITERS - len(broken), 0, broken)


def one_case(rules: Path, folder: Path) -> Round:
    """Resume one case from eight programs at once, each again until it gets in: nothing is mixed, nothing is lost.

    Some name the case, some its file, one a link to the file.
    """
    Journal.start(folder, {}, "desk").close()
    (folder / "linked.case").symlink_to(folder / "desk.case")
    ways = ("desk", str(folder / "desk.case"), str(folder / "linked.case"), os.path.relpath(folder / "desk.case"))
    waiting, told, broken = list(range(WRITERS)), 0, []
    while waiting:
        commands = [("--rules", str(rules), "interview", "--resume", ways[each % len(ways)]) for each in waiting]
        ended = together(commands, [lines_of(each) for each in waiting], DIAGNOSE_CASES=str(folder))
        left = [writer for writer, each in zip(waiting, ended, strict=True) if each.status == 1 and OPEN in each.err]
        told += len(left)
        strange = [each for each in ended if each.status and OPEN not in each.err]
        broken += [f"status {each.status}: {each.err}" for each in strange]
        if len(left) == len(waiting):
            broken.append("nobody got in")
            break
        waiting = left
    try:
        found = kept(folder, "desk")
    except DiagnoseError as error:
        return Round(0, told, [*broken, str(error)])
    whole = [found[start : start + NOTES] for start in range(0, len(found), NOTES)]
    if sorted(whole) != sorted(notes_of(each) for each in range(WRITERS)):
        broken.append(f"notes are mixed or lost: {found}")
    return Round(WRITERS - len(waiting), told, broken)


def caches(rules: Path, folder: Path) -> Round:
    """Build the same cache from eight programs at once: all give the same, and what is left is one whole cache."""
    command = ("--rules", str(rules), "triage", "-")
    report = "no light, 230 V at the lamp holder\n"
    ended = together([command] * WRITERS, [report] * WRITERS, DIAGNOSE_CACHE=str(folder))
    broken = [f"status {each.status}: {each.err}" for each in ended if each.status or each.err]
    if len({each.out for each in ended}) > 1:
        broken.append("not all say the same")
    left = sorted(path.suffix for path in folder.iterdir())
    if left != [".rules", ".words"]:
        broken.append(f"left in the cache: {left}")
    before = {path: path.stat().st_mtime_ns for path in folder.iterdir()}
    together([command], [report], DIAGNOSE_CACHE=str(folder))
    if before != {path: path.stat().st_mtime_ns for path in folder.iterdir()}:
        broken.append("the next start built it anew")
    return Round(WRITERS - len(broken), 0, broken)


KINDS: dict[str, Callable[[Path, Path], Round]] = {
    "new cases under one name": lambda rules, folder: new_cases(rules, folder, named=True),
    "new cases within a second, no name": lambda rules, folder: new_cases(rules, folder, named=False),
    "the same case, resumed": one_case,
    "the cache of one rule book": caches,
}


def run(kind: str, rules: Path) -> Round:
    """Let eight programs write at once, in a folder of their own."""
    with tempfile.TemporaryDirectory() as folder:
        return KINDS[kind](rules, Path(folder))


def report(size: int = 3, seed: int = 1) -> str:
    """Return the table of so many rounds of each kind; the last cache is that of the rule book that ships.

    The order in which programs come is the system's, whatever the ``seed``.
    """
    rows, told = [], []
    for kind in KINDS:
        began = time.monotonic()
        last = shipped_folder("rules") if KINDS[kind] is caches else LAMP
        rounds = [run(kind, LAMP if number < size - 1 else last) for number in range(size)]
        broken = [text for each in rounds for text in each.broken]
        through, waited = sum(each.through for each in rounds), sum(each.told for each in rounds)
        rows.append((kind, size, through, waited, len(broken), round(time.monotonic() - began)))
        told += [f"{kind}: {text[:400]}" for text in broken]
    head = ("eight at once", "rounds", "got through", "told to wait", "broken", "seconds")
    return "\n".join([table("Several writers", head, rows), *told[:5]])
