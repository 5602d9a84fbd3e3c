"""Recorded cases beside a rule book and the one that was learned: whose first cause would be another one."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.cases.record import RecordedCase
from diagnose.learning.learning import Moved, moved_case
from diagnose.reading import read_report
from diagnose.reasoning.diagnosis import weighed
from diagnose.reasoning.engine import Engine


def recorded_moved(before: Engine, after: Engine, cases: Iterable[RecordedCase]) -> tuple[Moved, ...]:
    """Return the recorded cases that move; each is read once, for both rule books read alike."""
    rows = []
    for case in cases:
        said = read_report(before, case.report, case.data_sheet).observations if case.report else ()
        observations = (*said, *case.answers)
        one, other = (weighed(engine, case.data_sheet, observations).order for engine in (before, after))
        if one[0] != other[0]:
            rows.append(moved_case(case.id, case.confirmed, one, other))
    return tuple(rows)
