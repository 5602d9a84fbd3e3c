"""Replaying a recorded case through the protocol: what the diagnosis says, and whether it is what the case demands."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from diagnose.cases.events import Case, CompetenceSaid
from diagnose.cases.record import RecordedCase
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.replies import Observed, Reply, Words
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.reasoning.diagnosis import Diagnosis
from diagnose.reasoning.engine import Engine


class ReplayResult(msgspec.Struct, frozen=True, kw_only=True):
    """The outcome of one replay; ``ranks`` gives each confirmed cause its place, counted from 1."""

    case: RecordedCase
    diagnosis: Diagnosis
    ranks: dict[str, int]
    failures: tuple[str, ...]


def replay(recorded: RecordedCase, engine: Engine) -> ReplayResult:
    """Tell a recorded case again, prompt by prompt, and hold the result against what it demands."""
    case = Case(name=recorded.id, data_sheet=recorded.data_sheet).after(CompetenceSaid(competence="skilled"))
    if recorded.report:
        case = _told(engine, case, Words(text=recorded.report))
    said = Situation(engine, case).diagnosis.findings if recorded.understood else {}
    if recorded.answers:
        case = _told(engine, case, Observed(observations=recorded.answers))
    diagnosis = Situation(engine, case).diagnosis
    order = [cause.id for cause in diagnosis.causes]
    ranks = {name: order.index(name) + 1 if name in order else len(order) + 1 for name in recorded.confirmed}
    failures = [
        f"`{name}` ranks {rank}, must be within the first {recorded.within_first}; first is `{order[0]}`"
        for name, rank in ranks.items()
        if rank > recorded.within_first
    ]
    for name, present in recorded.understood.items():
        if said.get(name) != present:
            failures.append(f"the report was not understood to say `{name}`: {'present' if present else 'absent'}")
    return ReplayResult(case=recorded, diagnosis=diagnosis, ranks=ranks, failures=tuple(failures))


def _told(engine: Engine, case: Case, reply: Reply) -> Case:
    prompt = prompt_in(Situation(engine, case))
    return case.after(*respond(engine, case, prompt, reply).events)


def figures(results: Sequence[ReplayResult]) -> str:
    """Return the sum of many replays in words.

    Published cases are told separately, for whoever invents a case also knows the rules that it will meet.
    """
    published = [result for result in results if not result.case.invented]
    kinds = {"invented": len(results) - len(published), "published": len(published)}
    told = ", ".join(f"{count} {kind}" for kind, count in kinds.items() if count)
    failed = sum(bool(result.failures) for result in results)
    text = f"{len(results)} cases{f' ({told})' if told else ''}: {_ranked(results)}, {failed} failed"
    if all(kinds.values()):
        text += f"; published alone: {_ranked(published)}"
    return text


def _ranked(results: Sequence[ReplayResult]) -> str:
    first = sum(min(result.ranks.values()) == 1 for result in results)
    three = sum(max(result.ranks.values()) <= 3 for result in results)
    return f"a confirmed cause first in {first}, all confirmed causes in the first three in {three}"
