"""How well reports are read: annotated tickets by strangers, statement by statement.

An annotation says what a careful reader takes from a quote (a finding present or absent, a figure), or what must not
be taken from it (``whose: other``: said of something else, over, hearsay, a condition). What was understood and stands
in no annotation may be right or wrong: only a reader can tell, so it is counted by itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import log
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from diagnose.errors import DiagnoseError
from diagnose.language.results import Statement, Understanding
from diagnose.observations import State
from diagnose.reading import read_report
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.quantities import Limit
from diagnose.rule_book.readings import read_reading
from tests.engines import reading_engine, real_engine

FOLDER = Path(__file__).parent.parent / "language" / "annotated"
_BINS = 10
_SAME_FIGURE = 0.02


class Ticket(NamedTuple):
    """An annotated ticket."""

    id: str
    about: str
    causes: tuple[str, ...]
    text: str
    statements: tuple[dict[str, Any], ...]


class Read(NamedTuple):
    """A ticket with what was understood of it, and the diagnosis."""

    ticket: Ticket
    understanding: Understanding
    diagnosis: Diagnosis


class Claims(NamedTuple):
    """What was understood, by what the annotations say of it: right, the opposite, of something else, not annotated."""

    right: list[Statement]
    opposite: list[Statement]
    others: list[Statement]
    unannotated: list[Statement]


def tickets(path: Path) -> list[Ticket]:
    """Return the annotated tickets of a file."""
    entries = yaml.safe_load(path.read_text(encoding="utf-8"))
    return [
        Ticket(each["id"], each["about"], tuple(each["causes"]), each["text"], tuple(each["statements"]))
        for each in entries
    ]


def read(engine: Engine, ticket: Ticket) -> Read:
    """Return what is understood of a ticket, and the diagnosis."""
    report = read_report(engine, ticket.text, {})
    return Read(ticket, report.understanding, diagnose(engine, {}, report.observations, State()))


def claims(engine: Engine, each: Read) -> Claims:
    """Sort what was understood of a ticket by its annotations."""
    result = Claims([], [], [], [])
    for said in each.understanding.understood:
        _sorted_in(result, engine, each.ticket, said)
    return result


def _sorted_in(result: Claims, engine: Engine, ticket: Ticket, said: Statement) -> None:
    same = [each for each in ticket.statements if _is_about(each, said)]
    if any(_agrees(engine, each, said) for each in same):
        result.right.append(said)
    elif any(each.get("finding") for each in same):
        result.opposite.append(said)
    elif any(each.get("whose") == "other" and _overlap(each["quote"], said.quote) for each in ticket.statements):
        result.others.append(said)
    else:
        result.unannotated.append(said)


def _is_about(annotated: dict[str, Any], said: Statement) -> bool:
    name = annotated.get("finding") or annotated.get("quantity")
    return bool(name) and name == (said.finding or said.quantity)


def _agrees(engine: Engine, annotated: dict[str, Any], said: Statement) -> bool:
    if said.finding:
        return bool(annotated["present"] == said.present)
    wanted = str(annotated["value"])
    if isinstance(said.value, str) or said.value is None:
        return said.value is not None and said.value.casefold() == wanted.casefold()
    try:
        figures = [read_reading(wanted, engine.rule_book.quantities[said.quantity]), said.value]
    except DiagnoseError:
        return False
    one, other = (each.bound if isinstance(each, Limit) else each for each in figures)
    return abs(one - other) <= _SAME_FIGURE * abs(one)


def _overlap(one: str, other: str) -> bool:
    one, other = (" ".join(each.casefold().split()) for each in (one, other))
    return one in other or other in one


def missed(engine: Engine, each: Read) -> dict[str, str]:
    """Return what became of each annotated statement (by its number) that was not understood."""
    result = {}
    for number, annotated in enumerate(each.ticket.statements):
        if annotated.get("whose") == "other":
            continue
        known = [said for said in each.understanding.understood if _is_about(annotated, said)]
        if not any(_agrees(engine, annotated, said) for said in known):
            result[str(number)] = _fate(each.understanding, annotated["quote"])
    return result


def _fate(understanding: Understanding, quote: str) -> str:
    """Return where the words of a quote went: the kind that most of them have."""
    whole, wanted = "".join(part.text for part in understanding.reading), " ".join(quote.split())
    start = " ".join(whole.split()).find(wanted)
    kinds: Counter[str] = Counter()
    at = 0
    for part in understanding.reading:
        for word in part.text.split():
            if start <= at < start + len(wanted):
                kinds[part.kind] += len(word)
            at += len(word) + 1
    return kinds.most_common(1)[0][0] if kinds else "set aside"


def rank(each: Read) -> int:
    """Return the best place of a true cause, counted from 1."""
    order = [cause.id for cause in each.diagnosis.causes]
    return 1 + min((order.index(name) for name in each.ticket.causes if name in order), default=len(order))


def reliability(reads: Iterable[Read]) -> tuple[list[str], float]:
    """Return ten bins of what was stated (from 1 % up) beside what was true, as lines, and Brier's score."""
    stated: list[tuple[float, bool]] = []
    for each in reads:
        stated += [
            (cause.probability, cause.id in each.ticket.causes)
            for cause in each.diagnosis.causes
            if cause.probability >= 0.01
        ]
    lines = []
    for number in range(_BINS):
        own = [each for each in stated if number <= min(each[0], 0.999_999) * _BINS < number + 1]
        if own:
            mean = sum(value for value, _ in own) / len(own)
            lines.append(f"    {mean:5.2f} stated, {sum(true for _, true in own) / len(own):5.2f} true of {len(own)}")
    brier = sum((value - true) ** 2 for value, true in stated) / max(len(stated), 1)
    return lines, brier


def summary(engine: Engine, reads: Sequence[Read]) -> list[str]:
    """Return what was understood, misread and lost, in lines."""
    told = [claims(engine, each) for each in reads]
    right, opposite, others, unannotated = (sum(len(each[at]) for each in told) for at in range(4))
    fates = Counter(fate for each in reads for fate in missed(engine, each).values())
    of = sum(annotated.get("whose") != "other" for each in reads for annotated in each.ticket.statements)
    understood = of - fates.total()
    sorted_out = right + opposite + others
    return [
        f"  understood {sorted_out + unannotated}: {right} as annotated, {opposite} the opposite, {others} of "
        f"something else, {unannotated} not annotated; right of those annotated {right / max(sorted_out, 1):.3f}",
        f"  annotated {of}: understood {understood} ({understood / max(of, 1):.2f}); words of the others: "
        + ", ".join(f"{kind} {count}" for kind, count in fates.most_common()),
    ]


def placed(reads: Sequence[Read]) -> str:
    """Return how often the true cause comes first and among the first three, and the mean surprise."""
    ranks = [rank(each) for each in reads]
    surprise = sum(
        -log(max(sum(each.diagnosis.probability(name) for name in each.ticket.causes), 1e-6)) for each in reads
    ) / max(len(reads), 1)
    first, three = sum(each == 1 for each in ranks), sum(each <= 3 for each in ranks)
    return f"first {first}, in the first three {three} of {len(reads)}; surprise {surprise:.2f}"


def report(_: int = 0) -> str:
    """Return the figures of every annotated file."""
    lines = ["reading: annotated tickets by people who saw neither phrases nor code"]
    plain, full = real_engine(), reading_engine()
    for path in sorted(FOLDER.glob("*.yaml")):
        every = tickets(path)
        reads = [read(full, each) for each in every]
        with_cause = [each for each in reads if each.ticket.about == "meter" and each.ticket.causes]
        without = [read(plain, each.ticket) for each in with_cause]
        bins, brier = reliability(with_cause)
        lines += [f"{path.name}, {len(every)} tickets", *summary(full, reads)]
        lines += [f"  true cause: {placed(with_cause)}", f"  without meaning: {placed(without)}"]
        lines += [f"  reliability, Brier's score {brier:.4f}", *bins]
    return "\n".join(lines)
