"""Replaying a recorded case: what the diagnosis says, and whether it is what the case demands."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from diagnose.cases.record import RecordedCase
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.observations import Observation, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.rule_book.types import RuleBook


class ReplayResult(msgspec.Struct, frozen=True, kw_only=True):
    """The outcome of one replay; ``ranks`` gives each confirmed cause its place, counted from 1."""

    case: RecordedCase
    diagnosis: Diagnosis
    ranks: dict[str, int]
    failures: tuple[str, ...]


def replay(case: RecordedCase, rule_book: RuleBook) -> ReplayResult:
    """Diagnose a recorded case and hold the result against what it demands."""
    observations: tuple[Observation, ...] = ()
    said: dict[str, bool] = {}
    if case.report:
        observations = understand(clean(case.report), rule_book).observations()
    diagnosis = diagnose(rule_book, case.data_sheet, (*observations, *case.answers), State())
    if case.understood:
        said = diagnose(rule_book, case.data_sheet, observations, State()).findings
    order = [cause.id for cause in diagnosis.causes]
    ranks = {name: order.index(name) + 1 if name in order else len(order) + 1 for name in case.confirmed}
    failures = [
        f"`{name}` ranks {rank}, must be within the first {case.within_first}; first is `{order[0]}`"
        for name, rank in ranks.items()
        if rank > case.within_first
    ]
    for name, present in case.understood.items():
        if said.get(name) != present:
            failures.append(f"the report was not understood to say `{name}`: {'present' if present else 'absent'}")
    return ReplayResult(case=case, diagnosis=diagnosis, ranks=ranks, failures=tuple(failures))


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
