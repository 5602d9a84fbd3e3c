"""How long somebody waits: for a command, and from an answer to the next; reports a second; ten times the rules."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any
from unittest.mock import patch

import msgspec
import numpy as np

from diagnose.commands.helpdesk import triage_document
from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, State
from diagnose.reasoning import diagnosis as diagnosing
from diagnose.reasoning.compiled_rules import CompiledRules
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.proposal import Proposal
from diagnose.reasoning.ready import SWITCH
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.cache import kept
from diagnose.rule_book.condition_types import All, AnyOf, Condition, FindingIs
from diagnose.shipped import shipped_folder
from diagnose.triage import report as triaging
from diagnose.triage.report import triage
from tests.benchmarks.reading_speed import tickets
from tests.benchmarks.timing import medians, seconds
from tests.engines import real_engine

IMPORTS = "import numpy, rich, yaml"
_DIAGNOSE = [sys.executable, "-m", "diagnose"]
COMMANDS = {
    IMPORTS: [sys.executable, "-c", IMPORTS],
    "diagnose --help": [*_DIAGNOSE, "--help"],
    "diagnose interview, to its first question": [*_DIAGNOSE, "interview"],
    "diagnose triage REPORT": [*_DIAGNOSE, "triage", str(shipped_folder("cases") / "reports" / "dark_display.txt")],
}
EXPECTED = dict(zip([*COMMANDS][1:], (b"Exit status", b"?", b"most probable"), strict=True))
"""What each of our commands shows if it does what it should."""

PARTS = {"reading words": (triaging, "read_report"), "diagnosis": (diagnosing, "remembered")}
"""Parts of a triage that are clocked: where they are called from."""
COPIES = 10


def renamed(rule_book: RuleBook, number: int) -> dict[str, dict[str, Any]]:
    """Return causes, findings, checks, rules and remedies under other names, tied to each other as before."""

    def name(old: str) -> str:
        return f"{old}-{number}" if old else old

    def names(old: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(name(each) for each in old)

    def condition(old: Condition) -> Condition:
        if isinstance(old, FindingIs):
            return FindingIs(name(old.finding), old.present)
        if isinstance(old, All | AnyOf):
            return type(old)(tuple(condition(part) for part in old.of))
        return old

    replace = msgspec.structs.replace
    made: dict[str, list[Any]] = {
        "findings": [
            replace(each, id=name(each.id), alternatives=name(each.alternatives))
            for each in rule_book.findings.values()
        ],
        "causes": [
            replace(
                each,
                id=name(each.id),
                shows={name(finding): strength for finding, strength in each.shows.items()},
                remedy=name(each.remedy),
                looks_like=names(each.looks_like),
            )
            for each in rule_book.causes.values()
        ],
        "checks": [
            replace(
                each,
                id=name(each.id),
                outcomes=tuple(
                    replace(outcome, present=names(outcome.present), absent=names(outcome.absent))
                    for outcome in each.outcomes
                ),
            )
            for each in rule_book.checks.values()
        ],
        "inference": [
            replace(
                each,
                id=name(each.id),
                when=condition(each.when),
                present=names(each.present),
                absent=names(each.absent),
            )
            for each in rule_book.inference.values()
        ],
        "remedies": [
            replace(each, id=name(each.id), proved_by=name(each.proved_by)) for each in rule_book.remedies.values()
        ],
    }
    return {part: {each.id: each for each in entries} for part, entries in made.items()}


def times(rule_book: RuleBook, copies: int) -> RuleBook:
    """Return a rule book with ``copies`` of everything but quantities, states and cautions."""
    parts: dict[str, dict[str, Any]] = {}
    for number in range(copies):
        for part, entries in renamed(rule_book, number).items():
            parts.setdefault(part, {}).update(entries)
    return msgspec.structs.replace(
        rule_book, **{part: dict(sorted(entries.items())) for part, entries in parts.items()}
    )


def in_folder(folder: Path) -> Mapping[str, str]:
    """Return an environment in which cases and compiled rules are kept in a folder, and modules as when installed."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "DIAGNOSE_CASES": str(folder / "cases"), "DIAGNOSE_CACHE": str(folder / "cache"), SWITCH: "off"}


def starts(runs: int) -> dict[str, float]:
    """Return the median seconds of whole commands, each in a process of its own, and of importing three libraries."""
    with tempfile.TemporaryDirectory() as name:
        environment = in_folder(Path(name))

        def run(command: list[str]) -> Callable[[], object]:
            return lambda: subprocess.run(
                command, stdin=subprocess.DEVNULL, capture_output=True, env=environment, check=False
            )

        for command, wanted in EXPECTED.items():
            shown = subprocess.run(
                COMMANDS[command], stdin=subprocess.DEVNULL, capture_output=True, env=environment, check=False
            )
            if wanted not in shown.stdout:
                raise RuntimeError(f"{command}: {shown.stdout!r} {shown.stderr!r}")
        return dict(zip(COMMANDS, medians([run(command) for command in COMMANDS.values()], runs), strict=True))


def reports_a_second(engine: Engine, texts: Sequence[str]) -> dict[str, float]:
    """Return how many reports one process diagnoses in a second of its processor, and the milliseconds of each part.

    The first third of the texts is read before the clock starts, so that what is worked out once does not count.
    """
    for text in texts[: len(texts) // 3]:
        triage(engine, text, {})
    rest = texts[len(texts) // 3 :]
    taken: dict[str, float] = dict.fromkeys(PARTS, 0.0)
    start = process_time()
    for text in rest:
        with _clocked(taken):
            triage_document(engine.rule_book, triage(engine, text, {}))
    whole = process_time() - start
    taken["document and rest"] = whole - sum(taken.values())
    return {"reports a second": len(rest) / whole, **{part: 1000 * each / len(rest) for part, each in taken.items()}}


@contextmanager
def _clocked(taken: dict[str, float]) -> Iterator[None]:
    """Add up what the named parts take while this lasts."""
    with ExitStack() as stack:
        for part, (module, name) in PARTS.items():
            real = getattr(module, name)

            def timed(*arguments: Any, part: str = part, real: Callable[..., Any] = real, **named: Any) -> Any:
                start = process_time()
                try:
                    return real(*arguments, **named)
                finally:
                    taken[part] += process_time() - start

            stack.enter_context(patch.object(module, name, timed))
        yield


def cached_load(rule_book: RuleBook) -> float:
    """Return the seconds of reading a compiled rule book of this size from its file, as a start does."""
    with tempfile.TemporaryDirectory() as folder, patch.dict(os.environ, {"DIAGNOSE_CACHE": folder}):
        kept("0" * 32, "rules", RuleBook, lambda: rule_book)
        return medians([lambda: kept("0" * 32, "rules", RuleBook, lambda: rule_book)], 5)[0]


def answer_to_question(engine: Engine, answers: int, seed: int = 4) -> float:
    """Return the median seconds of a diagnosis over a random walk of that many answers."""
    random = np.random.default_rng(seed)
    said: list[Observation] = []
    state, taken = State(), []
    for _ in range(answers):
        start = perf_counter()
        proposal = diagnose(engine, {}, tuple(said), state).proposals.next
        taken.append(perf_counter() - start)
        if proposal.kind not in ("check", "remedy"):
            said = []
            continue
        said.append(_answer(engine.rule_book, proposal, random))
        state = State(plant={**proposal.standing, **dict(proposal.changes)})
    return median(taken)


def _answer(rule_book: RuleBook, proposal: Proposal, random: np.random.Generator) -> Observation:
    if proposal.kind == "remedy":
        return RemedyTried(remedy=proposal.id, verdict="not cured")
    check = rule_book.checks[proposal.id]
    if check.outcomes:
        return CheckDone(check=check.id, answer=check.outcomes[int(random.integers(len(check.outcomes)))].answer)
    quantity = rule_book.quantities[check.measures]
    if quantity.choices:
        return Measurement(quantity=quantity.id, value=str(random.choice(quantity.choices)))
    return Measurement(quantity=quantity.id, value=float(random.uniform(*(quantity.plausible or (0.0, 1.0)))))


def with_present(engine: Engine, present: int, runs: int) -> float:
    """Return the median seconds of a diagnosis with that many findings present, spread over the rule book."""
    findings = list(engine.rule_book.findings)
    names = findings[:: len(findings) // present][:present]
    said = tuple(FindingSeen(finding=name, present=True) for name in names)
    return medians([lambda: diagnose(engine, {}, said, State())], runs)[0]


def report(runs: int = 9) -> str:
    """Return the table that the benchmark command prints."""
    rule_book = real_engine().rule_book
    real, large = Engine(rule_book), Engine(times(rule_book, COPIES))
    taken = starts(runs)
    lines = [f"Whole commands, warm cache, beside {IMPORTS} (medians of {runs}, in turn)"]
    for command, each in taken.items():
        lines.append(f"  {command:46}{each * 1000:9.1f} ms{each / taken[IMPORTS]:9.2f} times")
    lines.append("One process, one report after the other, without the extra for meaning (processor time)")
    for part, each in reports_a_second(Engine(rule_book), [*tickets()]).items():
        lines.append(f"  {part:46}{each:9.1f}{'' if part == 'reports a second' else ' ms a report'}")
    figures: dict[str, Callable[[Engine], float]] = {
        "rule book read from the cache": lambda engine: cached_load(engine.rule_book),
        "all rules compiled at once": lambda engine: seconds(
            lambda: CompiledRules([*engine.rule_book.inference.values()])
        ),
        "first diagnosis (once a process)": lambda engine: seconds(lambda: diagnose(engine, {}, (), State())),
        "answer to next question, random walk": lambda engine: answer_to_question(engine, 3 * runs),
        "diagnosis with 15 findings present": lambda engine: with_present(engine, 15, runs),
    }
    lines.append(f"{'':48}{'these rules':>12}{f'times {COPIES}':>12}{'growth':>9}")
    for title, figure in figures.items():
        one, ten = figure(real), figure(large)
        lines.append(f"  {title:46}{one * 1000:9.1f} ms{ten * 1000:9.1f} ms{ten / one:9.1f}")
    return "\n".join(lines)
