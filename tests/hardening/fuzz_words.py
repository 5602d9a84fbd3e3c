"""What people type and paste: answers, reports, tables, logs, figures and units."""

from __future__ import annotations

import json
import random
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path

import yaml

from diagnose.calculations import SUBJECTS
from diagnose.calculations.entering import example
from diagnose.errors import DiagnoseError
from diagnose.language.cleaning import clean, tidy
from diagnose.rule_book.book import RuleBook
from diagnose.shipped import shipped_folder
from diagnose.terms import TERMS, Term
from diagnose.units import is_unit, read_measurement, read_number, spelling, to_si, unit_info
from tests.commands.running import Done
from tests.hardening.calling import engine_of
from tests.hardening.judging import Input, command
from tests.hardening.mutations import UNITS, figure, reading, spoilt, spoilt_bytes
from tests.hardening.typist import Typist
from tests.hardening.uninterrupted import Uninterrupted
from tests.protocol.lamps import LAMP

TICKETS = Path(__file__).parent.parent / "language" / "tickets"


@lru_cache(maxsize=1)
def tickets() -> list[str]:
    """Return reports as people write them."""
    return [each["text"] for path in sorted(TICKETS.glob("*.yaml")) for each in yaml.safe_load(path.read_text("utf-8"))]


# Answers in interviews ------------------------------------------------------------------------------------------------


class Answers:
    """Interviews in which everything is typed that people type, and spoilt; a new one is begun now and then."""

    def __init__(self, rules: Path, folder: Path, longest: int = 40) -> None:
        self.engine, self.folder, self.longest = engine_of(rules), folder, longest
        self._cases = self._typed = 0
        self._now: Uninterrupted | None = None

    def input(self, chooser: random.Random) -> Input:
        """Return one line to type at whatever is asked now."""
        if self._now is None or self._typed >= self.longest:
            if self._now:
                self._now.close()
            self._cases, self._typed = self._cases + 1, 0
            self._now = Uninterrupted(self.engine, self.folder, f"fuzz-{self._cases}")
        self._typed += 1
        now = self._now
        line = _typed(self.engine.rule_book, now, chooser)

        def tried() -> str:
            self._now = None  # an interview that broke is not gone on with
            before = len(now.journal.path.read_bytes())
            said = now.answer(line)
            self._now = now
            kept = len(now.journal.path.read_bytes()) > before
            if "\x1b" in said:
                return "control characters on the screen"
            return "" if kept or said.strip() or not line.strip() else "lost without a word"

        return Input(repr(line[:200]), tried)


def _typed(book: RuleBook, now: Uninterrupted, chooser: random.Random) -> str:
    luck = chooser.random()
    if luck < 0.4:
        line = Typist(book, chooser).line(now.prompt)
    elif luck < 0.55:
        line = spoilt(Typist(book, chooser).line(now.prompt), chooser)
    elif luck < 0.75:
        line = reading(chooser)
    elif luck < 0.85:
        line = "; ".join(reading(chooser) for _ in range(chooser.randint(1, 4)))
    else:
        line = spoilt(chooser.choice(tickets())[: chooser.randint(1, 300)], chooser)
    line = line.replace("\n", " ").replace("\udc80", "?").strip()
    heard = tidy(line).casefold()  # what leaves the interview is not tried
    return "x" if heard in ("l", "leave", "") or "save and leave".startswith(heard) else line


# Reports, tables, logs ------------------------------------------------------------------------------------------------


def report(rules: Path, chooser: random.Random) -> Input:
    """Return a report, spoilt, in one of the forms of triage."""
    text = spoilt(chooser.choice(tickets()), chooser)
    data = text.encode("utf-8", "surrogateescape")
    if chooser.random() < 0.2:
        data = spoilt_bytes(data, chooser)
    form = chooser.choice(["text", "json", "markdown"])
    more = chooser.choice([[], [], ["--marked"], ["--top", "1"], ["--without", "1"], ["--with", reading(chooser)]])
    arguments = ["--rules", str(rules), "triage", "--format", form, *more, "-"]
    whole = form == "json" and data == text.encode("utf-8", "replace")
    return Input(repr(data[:300]), command(arguments, data, lambda done: _nothing_lost(done, text) if whole else ""))


def _nothing_lost(done: Done, text: str) -> str:
    """Tell whether the parts of a report, put together, are all of it."""
    if done.status:
        return ""
    read = "".join(part["text"] for part in json.loads(done.out)["reading"])
    lost = "".join(clean(text).split()) != "".join(read.split())
    return f"lost text: {read[:200]!r}" if lost else ""


def table(chooser: random.Random) -> Input:
    """Return a table of readings, spoilt."""
    sep, unit = chooser.choice([",", ";", "\t", "  ", " | "]), _unit(chooser)
    rows = [f"reference {unit}{sep}indicated {unit}"]
    factor, offset = chooser.uniform(0.5, 2), chooser.choice([0, 0, chooser.uniform(-5, 5)])
    for _ in range(chooser.randint(1, 12)):
        flow = chooser.uniform(0, 100)
        shown = figure(chooser) if chooser.random() < 0.02 else f"{factor * flow + offset:.4g}"
        rows.append(f"{flow:.4g}{sep}{shown}")
    data = _spoilt_now_and_then("\n".join(rows), chooser)
    options = ["--format", chooser.choice(["text", "json"])]
    for name in ("--urv", "--bore", "--limit", "--q3", "--reference-uncertainty", "--temperature"):
        if chooser.random() < 0.05:
            options += [name, reading(chooser)]
    return Input(f"{options} {data[:300]!r}", command(["compare", *options, "-"], data))


def log(chooser: random.Random) -> Input:
    """Return a log, spoilt."""
    sep, step = chooser.choice([",", ";", "\t"]), chooser.choice([1, 10, 60, 3600])
    rows = [f"time{sep}flow {_unit(chooser)}"]
    for number in range(chooser.choice([0, 3, 60, 200, 200])):
        seconds = number * step
        stamp = datetime(2026, 3, 1) + timedelta(seconds=seconds)
        value = figure(chooser) if chooser.random() < 0.01 else f"{50 + chooser.gauss(0, 1):.4g}"
        rows.append(f"{stamp}{sep}{value}")
    data = _spoilt_now_and_then("\n".join(rows), chooser)
    options = ["--format", chooser.choice(["text", "json"])]
    return Input(f"{options} {data[:300]!r}", command(["trend", *options, "-"], data))


def _unit(chooser: random.Random) -> str:
    return chooser.choice(UNITS) if chooser.random() < 0.15 else chooser.choice(["m3/h", "l/s"])


def _spoilt_now_and_then(text: str, chooser: random.Random) -> bytes:
    """Spoil every second table, so that the others get as far as being worked out."""
    if chooser.random() < 0.45:
        text = spoilt(text, chooser)
    data = text.encode("utf-8", "surrogateescape")
    return spoilt_bytes(data, chooser) if chooser.random() < 0.05 else data


# Figures and units ----------------------------------------------------------------------------------------------------


def calculation(at: int, chooser: random.Random) -> Input:
    """Return what one calculation takes, written absurdly; calculation number ``at``, all of them in turn.

    In every second one only one figure is absurd, so that the others do not keep it from being worked out.
    """
    every = [(subject, each) for subject in SUBJECTS.values() for each in subject.calculations]
    subject, chosen = every[at % len(every)]
    arguments = ["calc", subject.name, "--format", chooser.choice(["text", "json"])]
    absurd = {chooser.choice(chosen.inputs)} if at // len(every) % 2 else set(chosen.inputs)
    for name in chosen.inputs:
        if chooser.random() < 0.92:
            arguments.append(f"--{name}={(_entry if name in absurd else _sensible)(TERMS[name], chooser)}")
    return Input(" ".join(arguments), command(arguments, check=_finite))


def _sensible(term: Term, chooser: random.Random) -> str:
    return chooser.choice(term.choices) if term.choices else example(term)


def _entry(term: Term, chooser: random.Random) -> str:
    luck = chooser.random()
    if luck < 0.3 and term.example:
        return term.example
    if term.choices and luck < 0.6:
        return chooser.choice(term.choices)
    if luck < 0.5 and term.is_figure:
        return (
            f"{chooser.choice([0.0, 1.0, 10.0 ** chooser.randint(-31, 31)]) * chooser.choice([1, 1, -1]):g} {term.unit}"
        )
    if term.list_of_figures and luck < 0.8:
        return "; ".join(reading(chooser) for _ in range(chooser.randint(1, 4)))
    if luck < 0.7 and term.example:
        return spoilt(term.example, chooser)
    return reading(chooser)


def _finite(done: Done) -> str:
    words = {word.strip("=(),.;").casefold() for word in done.out.split()}
    return "infinity or NaN printed" if done.status == 0 and words & {"nan", "inf", "-inf"} else ""


def unit(chooser: random.Random) -> Input:
    """Return a text that is read as a number, a unit, and a figure with its unit."""
    text = reading(chooser) if chooser.random() < 0.6 else spoilt(chooser.choice(UNITS) or "m", chooser)

    def tried() -> str:
        try:
            is_unit(text)
            spelling(text)
            number = read_number(text)
            figure = read_measurement(text)
            if number is not None and number != number:
                return "NaN read"
            if figure is not None:
                value = to_si(figure.number, figure.unit, chooser.choice(["m3/h", "V", "ohm", "mm", "%"]))
                return "" if abs(value) < float("inf") else f"{value} from a figure"
            unit_info(text)
        except DiagnoseError as error:
            return "" if str(error) else "refused without a word"
        return ""

    return Input(repr(text), tried)


RULES = {"lamp": LAMP, "shipped": shipped_folder("rules")}
