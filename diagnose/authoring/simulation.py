"""Many invented faults, interviewed with the real diagnosis: how often it is right, how long it takes, how safe it is.

Each fault has a key of its own from which everything about it is drawn, so that the figures hang on the rule book and
the seed alone, whatever the number of processes.
"""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Iterator
from functools import partial
from typing import Literal

import msgspec

from diagnose.authoring.faults import Fault, draw_fault, draw_intermittent_fault, draw_meter
from diagnose.authoring.fixed_order import FixedOrderResult, follow
from diagnose.authoring.simulated_interview import InterviewResult, interview
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import Competence

Kind = Literal["single", "double", "less skilled", "intermittent", "outside"]

FAULTS_PER_METER = 8
"""So many faults in turn happen to the same meter: what steps take there is then worked out only once."""

LESS_SKILLED: tuple[Competence, ...] = ("ordinary", "instructed")


class Order(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What to simulate: how many faults of each kind, the share of wrong answers, and where chance starts.

    Single and double faults are met by a skilled person; ``less_skilled`` are single faults met by others;
    ``intermittent`` ones come and go; ``outside`` ones have their cause taken out of the rule book.
    """

    single: int = 2000
    double: int = 500
    less_skilled: int = 200
    intermittent: int = 100
    outside: int = 100
    wrong: float = 0.05
    seed: int = 1

    def tasks(self) -> list[FaultToDraw]:
        """Return the faults to draw: those of one meter together, all kinds forward side by side.

        So figures that were ended early are of every kind.
        """
        numbers: tuple[tuple[Kind, int], ...] = (
            ("single", self.single),
            ("double", self.double),
            ("less skilled", self.less_skilled),
            ("intermittent", self.intermittent),
            ("outside", self.outside),
        )
        meters = [
            (start / many, kind, range(start, min(start + FAULTS_PER_METER, many)))
            for kind, many in numbers
            for start in range(0, many, FAULTS_PER_METER)
        ]
        meters.sort(key=lambda meter: meter[0])
        return [FaultToDraw(kind, number) for _, kind, faults in meters for number in faults]


class FaultToDraw(msgspec.Struct, frozen=True):
    """One fault to draw, of a kind, by its number."""

    kind: Kind
    number: int


class SimulatedFault(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fault, its interview, and for a single fault met by a skilled person the fixed order."""

    kind: Kind
    fault: Fault
    interview: InterviewResult
    fixed: FixedOrderResult | None = None


def simulate_one(engine: Engine, order: Order, task: FaultToDraw) -> SimulatedFault | None:
    """Draw a fault and interview somebody about it; None when the rule book has no such fault."""
    rule_book = engine.rule_book
    competence = LESS_SKILLED[task.number % len(LESS_SKILLED)] if task.kind == "less skilled" else "skilled"
    meter = draw_meter(rule_book, f"{order.seed}/{task.kind}/meter {task.number // FAULTS_PER_METER}")
    key = f"{order.seed}/{task.kind}/{task.number}"
    if task.kind == "intermittent":
        fault = draw_intermittent_fault(rule_book, meter, key)
    else:
        fault = draw_fault(rule_book, meter, key, 2 if task.kind == "double" else 1, competence)
    if fault is None:
        return None
    asked = without_cause(engine, fault.causes[0]) if task.kind == "outside" else engine
    return SimulatedFault(
        kind=task.kind,
        fault=fault,
        interview=interview(asked, fault, order.wrong, world=engine),
        fixed=follow(engine, fault, order.wrong) if task.kind == "single" else None,
    )


def without_cause(engine: Engine, cause: str) -> Engine:
    """Return the engine of a rule book that does not know a cause."""
    causes = {name: each for name, each in engine.rule_book.causes.items() if name != cause}
    return Engine(msgspec.structs.replace(engine.rule_book, causes=causes))


def simulate(engine: Engine, order: Order, processes: int = 1) -> Iterator[SimulatedFault | None]:
    """Simulate one fault after the other, in order, in so many processes."""
    tasks = order.tasks()
    if processes == 1 or len(tasks) < 2:
        yield from map(partial(simulate_one, engine, order), tasks)
        return
    # Started afresh, not forked: a progress bar's thread must not be copied half way.
    start = multiprocessing.get_context("spawn").Pool
    with start(min(processes, len(tasks)), _begin, (msgspec.msgpack.encode(engine.rule_book), order)) as pool:
        yield from pool.imap(_work, tasks, FAULTS_PER_METER)


def collect(faults: Iterator[SimulatedFault | None], advance: Callable[[], None]) -> tuple[list[SimulatedFault], bool]:
    """Return the faults simulated, and whether all of them were: Ctrl-C ends early with those that there are."""
    done: list[SimulatedFault] = []
    try:
        for each in faults:
            advance()
            if each is not None:
                done.append(each)
    except KeyboardInterrupt:
        return done, False
    return done, True


_in_this_process: list[tuple[Engine, Order]] = []


def _begin(rule_book: bytes, order: Order) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started us decides when to stop
    _in_this_process.append((Engine(msgspec.msgpack.decode(rule_book, type=RuleBook)), order))


def _work(task: FaultToDraw) -> SimulatedFault | None:
    return simulate_one(*_in_this_process[-1], task)
