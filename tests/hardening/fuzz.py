"""Inputs that nobody meant, by area: how many were tried, how many broke the program, and the first that did.

A failure is a traceback, exit status 70 or one that is not documented, an error without a word, a hang, NaN or
Infinity in JSON, control characters on the screen, or text that was lost without a word.
"""

from __future__ import annotations

import random
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from pathlib import Path

from diagnose.shipped import shipped_folder
from tests.hardening import fuzz_files, fuzz_options, fuzz_words
from tests.hardening.calling import surroundings
from tests.hardening.judging import Input, outcome
from tests.hardening.tables import table
from tests.protocol.lamps import LAMP
from tests.rule_book.lamps import MINIMAL

Make = Callable[[random.Random], Input]

SHARES = {
    "typed answers, desk lamp": 2500,
    "typed answers, shipped rules": 1000,
    "reports, desk lamp": 1500,
    "reports, shipped rules": 500,
    "tables": 800,
    "logs": 800,
    "calc entries": 265 * 20,
    "units": 6000,
    "data sheets": 800,
    "rule files, desk lamp": 500,
    "rule files, shipped": 60,
    "journals": 1500,
    "imported cases": 500,
    "recorded cases": 300,
    "options": 1500,
    "ends of pipes": 60,
}
"""Area → inputs at full size, some 22,000; by what one takes."""

FULL = sum(SHARES.values())


@dataclass
class Found:
    """What came of one area."""

    inputs: int = 0
    seconds: float = 0.0
    failures: list[tuple[str, str]] = field(default_factory=list)


def areas(folder: Path, chooser: random.Random) -> dict[str, Make]:
    """Return what makes the inputs of each area; they work in a folder of their own."""
    shipped = shipped_folder("rules")
    calculations = count()
    return {
        "typed answers, desk lamp": fuzz_words.Answers(LAMP, folder / "lamp").input,
        "typed answers, shipped rules": _late(lambda: fuzz_words.Answers(shipped, folder / "shipped").input),
        "reports, desk lamp": partial(fuzz_words.report, LAMP),
        "reports, shipped rules": partial(fuzz_words.report, shipped),
        "tables": fuzz_words.table,
        "logs": fuzz_words.log,
        "calc entries": lambda chooser: fuzz_words.calculation(next(calculations), chooser),
        "units": fuzz_words.unit,
        "data sheets": partial(fuzz_files.data_sheet, shipped, folder),
        "rule files, desk lamp": _late(lambda: fuzz_files.Rules(MINIMAL, folder).input),
        "rule files, shipped": _late(lambda: fuzz_files.Rules(shipped, folder).input),
        "journals": _late(lambda: fuzz_files.Journals(folder, chooser).input),
        "imported cases": _late(lambda: fuzz_files.Imports(folder, chooser).input),
        "recorded cases": partial(fuzz_files.recorded_case, folder),
        "options": partial(fuzz_options.options, folder),
        "ends of pipes": partial(fuzz_options.ends, folder),
    }


def _late(make: Callable[[], Make]) -> Make:
    """Return what makes inputs, itself made when the first is wanted."""
    made: list[Make] = []

    def input_of(chooser: random.Random) -> Input:
        if not made:
            made.append(make())
        return made[0](chooser)

    return input_of


def run(size: int, seed: int, only: str = "") -> dict[str, Found]:
    """Try so many inputs altogether, shared out among the areas whose names begin with ``only``."""
    found = {}
    for area, share in SHARES.items():
        if area.startswith(only):
            found[area] = _tried(area, max(1, round(size * share / FULL)), seed)
    return found


def _tried(area: str, inputs: int, seed: int) -> Found:
    chooser, found, began = random.Random(f"{seed} {area}"), Found(), time.monotonic()
    with tempfile.TemporaryDirectory() as folder, surroundings(Path(folder), TMPDIR=folder):
        make = areas(Path(folder), chooser)[area]
        for _ in range(inputs):
            one = make(chooser)
            wrong = outcome(one)
            found.inputs += 1
            if wrong:
                found.failures.append((one.shown, wrong))
    found.seconds = time.monotonic() - began
    return found


def report(size: int = FULL, seed: int = 1, only: str = "") -> str:
    """Return the table of so many inputs, and the first failures of each area in full."""
    found = run(size, seed, only)
    rows = [(area, each.inputs, len(each.failures), round(each.seconds)) for area, each in found.items()]
    total = ("all", *(sum(int(row[at]) for row in rows) for at in (1, 2, 3)))
    told = [f"{area}: {wrong}\n    {shown}" for area, each in found.items() for shown, wrong in each.failures[:5]]
    head = ("area", "inputs", "failures", "seconds")
    return "\n".join([table(f"Inputs that nobody meant, seed {seed}", head, [*rows, total]), *told])
