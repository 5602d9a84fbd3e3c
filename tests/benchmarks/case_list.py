"""A folder of 100,000 cases: listed, searched and compared, beside reading a plain list of the same rows."""

from __future__ import annotations

import json
import random
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

import msgspec

from diagnose.cases.events import Closed, Entry, Event, Left, MeterNamed, TextRead
from diagnose.cases.index import Index
from diagnose.cases.journal_lines import FORMAT, Head
from diagnose.cases.listing import Wanted, cases_like, cases_wanted
from diagnose.observations import FindingSeen
from tests.benchmarks.timing import medians, seconds

CASES = 100_000
FINDINGS, CAUSES, METERS = 400, 250, 900


def write_case(folder: Path, number: int, chosen: random.Random) -> None:
    """Write a case of made-up names: some findings are common, most are rare, and every second case is closed."""
    at = f"20{10 + number * 16 // CASES % 16}-{1 + number % 12:02}-{1 + number % 28:02}T08:00:00+00:00"
    seen = sorted({int(FINDINGS * chosen.random() ** 3) for _ in range(6)})
    causes = tuple((f"cause-{int(CAUSES * chosen.random() ** 2)}", 0.5 / place) for place in range(1, 4))
    events: list[Event] = [
        MeterNamed(tag=f"FT-{chosen.randrange(METERS)}"),
        TextRead(text=f"word{number % 5000} the display is dark, word{number % 77}"),
        *(FindingSeen(finding=f"finding-{each}", present=True) for each in seen),
        Left(state="open", causes=causes),
    ]
    if number % 2:
        events.append(Closed(outcome="found", cause=causes[0][0], minutes=30.0, rank=1, probability=0.5))
    head = Head(format=FORMAT, case=f"case-{number}", started=at)
    lines: list[object] = [head, *(Entry(turn=turn, at=at, event=event) for turn, event in enumerate(events, 1))]
    (folder / f"case-{number}.case").write_bytes(b"".join(msgspec.json.encode(line) + b"\n" for line in lines))


def write_cases(folder: Path, cases: int) -> None:
    """Write so many; the same each time."""
    chosen = random.Random(1)
    for number in range(cases):
        write_case(folder, number, chosen)


def report(size: int = CASES) -> str:
    """Return how long each takes, as a ratio to reading a JSON list of what is listed."""
    with tempfile.TemporaryDirectory() as name:
        folder, plain = Path(name) / "cases", Path(name) / "plain.json"
        folder.mkdir()
        write_cases(folder, size)
        built = seconds(lambda: Index.open(folder).close())
        with Index.open(folder) as index:
            plain.write_text(json.dumps([list(each) for each in cases_wanted(index, Wanted()).cases]), encoding="utf-8")
        works: dict[str, Callable[[], object]] = {
            "plain list": lambda: json.loads(plain.read_bytes()),
            "the latest 20": partial(_latest, folder, Wanted()),
            "one meter, closed": partial(_latest, folder, Wanted(meter="FT-7*", state="closed")),
            "two words": partial(_latest, folder, Wanted(words="word42 dark")),
            "cases like one": partial(_like, folder),
        }
        plainly, *times = medians(list(works.values()), 3)
    rows = [f"{size:,} cases; reading a plain list of them takes {plainly:.2f} s, and beside that"]
    rows += [
        f"  {name:<20} {each / plainly:5.2f} times ({each:.2f} s)"
        for name, each in zip([*works][1:], times, strict=True)
    ]
    return "\n".join([*rows, f"  {'building the index':<20} {built / plainly:5.2f} times ({built:.2f} s)"])


def _latest(folder: Path, wanted: Wanted) -> None:
    with Index.open(folder) as index:
        assert cases_wanted(index, wanted, 20).cases


def _like(folder: Path) -> None:
    with Index.open(folder) as index:
        assert cases_like(index, "case-7")
