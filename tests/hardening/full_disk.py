"""The disk is full at the n-th call that writes, for every n: it is told, and what was answered before is kept.

Inside this process the functions of the system fail; at last real files may grow no more, and real output goes to a
device that takes nothing.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from unittest.mock import patch

from diagnose.cases.events import Entry, Left, Note
from diagnose.cases.journal import Journal
from diagnose.cases.journal_lines import FORMAT
from diagnose.errors import DiagnoseError
from tests.commands.running import LAMP as MINIMAL
from tests.commands.running import Done, environment
from tests.hardening.calling import call, surroundings
from tests.hardening.failing_disk import FullDisk
from tests.hardening.tables import table
from tests.protocol.lamps import LAMP

ANSWERS = ("no light", "3", "n warm, and dusty", "o", "3", "1 dry; 2 230 V", "y", "3 V", "1", "1", "1", "l")
INTERVIEW = ("--rules", str(LAMP), "interview", "--name", "desk")
PAIRS = "reference m3/h,indicated m3/h\n" + "".join(f"{n},{1.1 * n + 1:g}\n" for n in range(10, 100, 10))
LOG = "time,flow m3/h\n" + "".join(f"2026-03-01 10:{n // 60:02}:{n % 60:02},{50 + n % 7}\n" for n in range(600))


@dataclass
class Counts:
    """How often a disk was full in one kind of writing, and what was wrong then."""

    tried: int = 0
    wrong: list[str] = field(default_factory=list)

    def check(self, at: str, *found: str) -> None:
        """Count one try, and what was wrong with it."""
        self.tried += 1
        self.wrong += [f"{at}: {text}" for text in found if text]


@contextmanager
def _folder() -> Iterator[Path]:
    with (
        tempfile.TemporaryDirectory() as folder,
        surroundings(Path(folder), TMPDIR=folder),
        patch.object(tempfile, "tempdir", folder),
    ):
        yield Path(folder)


def told(done: Done) -> str:
    """Return what is wrong with how a full disk was told; nothing if it was told well."""
    if done.status != 1:
        return f"status {done.status}: {done.err}"
    if not done.err.startswith("error: ") or "Traceback" in done.err or "No space left" not in done.err:
        return f"told so: {done.err}"
    return ""


def each_call(try_one: Callable[[FullDisk], str], most: int = 0, **how: bool) -> Counts:
    """Let the disk be full at the first call, at the second, until all goes through (``most`` times, if given)."""
    counts = Counts()
    for first in count(1):
        with _folder() as folder:
            disk = FullDisk(folder, first, **how)
            found = try_one(disk)
            if not disk.failed:
                counts.check(f"nothing fails ({first - 1} calls)", found)
                return counts
            counts.check(f"full at call {first}, {disk.calls[first - 1]}", found)
        if first == most:
            return counts
    raise AssertionError("there is always a last call")


# Interviews -----------------------------------------------------------------------------------------------------------


def interview(disk: FullDisk) -> str:
    """Answer an interview while the disk fills up, then go on with it when there is room again."""
    typed = "".join(f"{line}\n" for line in ANSWERS)
    with disk.mounted():
        done = call(INTERVIEW, typed)
    kept = _kept(disk.folder, "desk")
    if isinstance(kept, str):
        return kept
    whole = _whole_interview()
    if not disk.failed or done.status == 0:  # the lock does without what it only probes
        return "" if done.status == 0 and len(kept) == len(whole) else f"status {done.status}, {len(kept)} events"
    saved = max(0, disk.calls[: disk.first - 1].count("fsync") - 1)  # the first is that of the line that begins a case
    # What could be neither put through nor taken away again may stand there, if it is whole.
    wanted = [[each.event for each in whole if each.turn <= last] for last in (saved, saved + disk.not_even_shorter)]
    if [each.event for each in kept] not in wanted:
        return f"kept {len(kept)} events, wanted {len(wanted[0])}"
    return told(done) or _goes_on(disk.folder)


def _whole_interview() -> Sequence[Entry]:
    with _folder() as folder:
        call(INTERVIEW, "".join(f"{line}\n" for line in ANSWERS))
        kept = _kept(folder, "desk")
    assert not isinstance(kept, str)
    return kept


def _kept(folder: Path, name: str) -> Sequence[Entry] | str:
    if not (folder / "cases" / f"{name}.case").exists():
        return ()
    try:
        entries = Journal.read(folder / "cases", name).entries
    except DiagnoseError as error:
        return f"does not load: {error}"
    return [each for each in entries if not isinstance(each.event, Left)]  # how it was left follows from the rest


def _goes_on(folder: Path) -> str:
    if not (folder / "cases" / "desk.case").exists():
        return ""
    done = call(("--rules", str(LAMP), "interview", "--resume", "desk"), "n room again\nl\n")
    kept = _kept(folder, "desk")
    if done.status or isinstance(kept, str) or Note(text="room again") not in [each.event for each in kept]:
        return f"does not go on: {done.err or kept}"
    return ""


# Other files ----------------------------------------------------------------------------------------------------------


def cache(disk: FullDisk) -> str:
    """Start with an empty cache on a disk that is full: it is done without, silently, and nothing half is left."""
    with patch.dict("os.environ", DIAGNOSE_CACHE=str(disk.folder / "cache")), disk.mounted():
        done = call(("--rules", str(LAMP), "triage", "-"), "no light\n", fresh=True)
    left = [path.name for path in disk.folder.rglob("*.part")]
    if done.status or done.err or "no light" not in done.out:
        return f"status {done.status}: {done.err}"
    return f"left behind: {left}" if left else ""


def data_sheet(disk: FullDisk) -> str:
    """Fill in a data sheet of the rule book that ships; nothing half written is left beside the file."""
    with disk.mounted():
        done = call(("data-sheet", "new", "sheet.yaml"), "1\n1\n2\n1\nq\n")
    left = sorted(path.name for path in disk.folder.iterdir() if path.name not in ("sheet.yaml", "cases"))
    if left:
        return f"left behind: {left}"
    if disk.failed:
        return told(done)
    return "" if done.status in (0, 130) else f"status {done.status}: {done.err}"


def added_to_case(disk: FullDisk) -> str:
    """Add what a comparison found to a case."""
    Journal.start(disk.folder / "cases", {}, "desk").close()
    Path("pairs.csv").write_text(PAIRS, encoding="utf-8")
    with disk.mounted():
        done = call(("compare", "pairs.csv", "--case", "desk"))
    kept = _kept(disk.folder, "desk")
    if isinstance(kept, str):
        return kept
    if disk.failed:
        return told(done) or (f"kept {len(kept)} events" if kept else "")
    return "" if done.status == 0 and kept else f"status {done.status}: {done.err}"


def imported(disk: FullDisk) -> str:
    """Take over cases; each is there whole or not at all, and nothing else is left."""
    heads = [
        {"format": FORMAT, "case": f"case-{number}", "started": "2026-01-01T00:00:00+00:00"} for number in range(3)
    ]
    Path("cases.jsonl").write_text("".join(f"{json.dumps(each)}\n" for each in heads), encoding="utf-8")
    with disk.mounted():
        done = call(("cases", "import", "cases.jsonl"))
    folder = disk.folder / "cases"
    left = [path.name for path in folder.glob("*") if path.suffix != ".case"] if folder.exists() else []
    kept = [_kept(disk.folder, path.stem) for path in folder.glob("*.case")]
    if left or any(isinstance(each, str) for each in kept):
        return f"left behind: {left}, kept: {kept}"
    if disk.failed:
        return told(done)
    return "" if done.status == 0 and len(kept) == len(heads) else f"status {done.status}: {done.err}"


def exported(disk: FullDisk) -> str:
    """Export a case into a file, whole or not at all."""
    Journal.start(disk.folder / "cases", {}, "desk").close()
    with disk.mounted():
        done = call(("cases", "export", "--output", "out.jsonl"))
    left = [path.name for path in disk.folder.iterdir() if path.name not in ("cases", "cache")]
    if disk.failed:
        return told(done) or (f"left behind: {left}" if left else "")
    return "" if (done.status, left) == (0, ["out.jsonl"]) else f"status {done.status}: {done.err}"


def kept_sheet(disk: FullDisk) -> str:
    """Keep the data sheet of a meter in place of another one: one of the two stands there, and nothing beside it."""
    sheets = ("power: 60 W\n", "power: 40 W\nplace: inside\n")
    for text in sheets:
        Path("sheet.yaml").write_text(text, encoding="utf-8")
        with disk.mounted() if text is sheets[1] else nullcontext():
            done = call((*MINIMAL, "data-sheet", "keep", "L-1", "sheet.yaml"))
    kept = [path.read_text(encoding="utf-8") for path in (disk.folder / "cases" / "meters").iterdir()]
    if len(kept) != 1 or kept[0] not in sheets:
        return f"there is {kept}"
    if done.status and kept[0] == sheets[0]:
        return told(done)
    return "" if kept[0] == sheets[1] else f"status {done.status}: {done.err}"


def log_from_a_pipe(disk: FullDisk) -> str:
    """Read a log from standard input, which is put on disk first."""
    with disk.mounted():
        done = call(("trend", "-"), LOG)
    if disk.failed:
        return told(done)
    return "" if done.status == 0 else f"status {done.status}: {done.err}"


# Real files -----------------------------------------------------------------------------------------------------------

OUTPUTS = (
    ("triage", "-"),
    ("triage", "--format", "json", "-"),
    ("triage", "--format", "markdown", "-"),
    ("calc", "loop", "--flow", "5 m3/h", "--urv", "10 m3/h"),
    ("rules", "check"),
    ("cases", "replay", "{empty}"),
    ("schema", "diagnosis"),
    ("compare", "--pairs", "10 11; 20 22; 30 33 m3/h"),
    ("compare", "--pairs", "10 11; 20 22; 30 33 m3/h", "--format", "json"),
    ("--help",),
)


def output_to_a_full_device() -> Counts:
    """Print every kind of document to ``/dev/full``."""
    counts = Counts()
    with tempfile.TemporaryDirectory() as empty, Path("/dev/full").open("wb") as full:
        for command in OUTPUTS:
            done = subprocess.run(
                [sys.executable, "-m", "diagnose", *MINIMAL, *(each.format(empty=empty) for each in command)],
                input=b"no light\n",
                stdout=full,
                stderr=subprocess.PIPE,
                env=environment(),
                check=False,
            )
            counts.check(" ".join(command), told(Done(done.returncode, "", done.stderr.decode())))
    return counts


def pictures_to_a_full_device() -> Counts:
    """Draw every kind of picture onto ``/dev/full``, and into files that may not grow."""
    counts = Counts()
    with _folder() as folder:
        Path("pairs.csv").write_text(PAIRS, encoding="utf-8")
        Path("log.csv").write_text(LOG, encoding="utf-8")
        for suffix in ("png", "svg", "pdf"):
            (folder / f"full.{suffix}").symlink_to("/dev/full")
            for command in (("compare", "pairs.csv"), ("trend", "log.csv")):
                done = call((*command, "--plot", f"full.{suffix}"))
                counts.check(f"{command[0]} --plot full.{suffix}", told(done))
    return counts


def files_that_may_not_grow(step: int = 100) -> Counts:
    """Run real interviews in which no file may have more bytes than a limit, for a row of limits."""
    counts = Counts()
    whole = _whole_interview()
    for limit in range(0, 3000, step):
        with _folder() as folder:

            def limited(most: int = limit) -> None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

            done = subprocess.run(
                [sys.executable, "-m", "diagnose", *INTERVIEW],
                input="".join(f"{line}\n" for line in ANSWERS).encode(),
                capture_output=True,
                env=environment(DIAGNOSE_CASES=str(folder / "cases")),
                preexec_fn=limited,
                check=False,
            )
            kept, said = _kept(folder, "desk"), done.stderr.decode()
            if isinstance(kept, str):
                counts.check(f"{limit} bytes", kept)
                continue
            through = done.returncode == 0 and len(kept) == len(whole)
            prefix = [each.event for each in kept] == [each.event for each in whole[: len(kept)]]
            well = through or (done.returncode == 1 and said.startswith("error: ") and "File too large" in said)
            counts.check(f"{limit} bytes", "" if well and prefix else f"status {done.returncode}: {said}")
    return counts


KINDS: dict[str, Callable[[int], Counts]] = {
    "interview, full from then on": lambda most: each_call(interview, most),
    "interview, full for one call": lambda most: each_call(interview, most, once=True),
    "interview, nothing can be taken away": lambda most: each_call(interview, most, not_even_shorter=True),
    "cache (done without)": lambda most: each_call(cache, most),
    "data sheet": lambda most: each_call(data_sheet, most),
    "data sheet of a meter": lambda most: each_call(kept_sheet, most),
    "findings added to a case": lambda most: each_call(added_to_case, most),
    "imported cases": lambda most: each_call(imported, most),
    "exported cases": lambda most: each_call(exported, most),
    "log from standard input": lambda most: each_call(log_from_a_pipe, most),
    "real files that may not grow": lambda most: files_that_may_not_grow(50 if not most else 3000 // most),
    "output to /dev/full": lambda _: output_to_a_full_device(),
    "pictures to /dev/full": lambda _: pictures_to_a_full_device(),
}


def report(size: int = 0, seed: int = 1) -> str:
    """Return the table of all calls at which a disk can be full, ``size`` of each kind if given; nothing is drawn."""
    found = {kind: tried(size) for kind, tried in KINDS.items()}
    rows = [(kind, each.tried, len(each.wrong), (each.wrong or [""])[0][:150]) for kind, each in found.items()]
    return table("A full disk", ("what is written", "tried", "wrong", "first"), rows)
