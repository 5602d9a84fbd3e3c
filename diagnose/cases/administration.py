"""What was written down about a case as such: its meter, what is attached, how it was left, whether it is closed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

from diagnose.cases.events import Attached, Closed, Entry, Left, MeterNamed, Note, Reopened, Resumed
from diagnose.errors import BadInput
from diagnose.rule_book.quantities import DataSheet

ADMINISTRATION: TypeAlias = MeterNamed | Attached | Left | Closed | Reopened
"""Events that say nothing of the fault while it is looked for; going back passes over them."""

LONGEST_MINUTES = 100_000
"""On site for one case: ten weeks, day and night."""


def minutes_on_site(minutes: float) -> float:
    """Return a time that somebody can have spent on site.

    Raises BadInput for any other.

    >>> minutes_on_site(45)
    45
    """
    if not 0 <= minutes <= LONGEST_MINUTES:
        raise BadInput(f"{minutes:g} minutes on site is no time that anybody spends there")
    return minutes


@dataclass(frozen=True)
class Administration:
    """How the case as such stands.

    ``closed`` is what it was closed with at ``closed_at``, until it is reopened; ``reopened`` each time that it was.
    ``data_sheet`` is what the one kept of the meter said when it was named.
    ``left`` is how the interview was left last, ``went_on`` whether something was answered since.
    """

    meter: str = ""
    attached: tuple[Attached, ...] = ()
    left: Left | None = None
    went_on: bool = False
    closed: Closed | None = None
    closed_at: str = ""
    reopened: tuple[Reopened, ...] = ()
    data_sheet: DataSheet = field(default_factory=dict)

    @property
    def state(self) -> str:
        """Return the state in one word or two: open, waiting, cured, handed over, or closed."""
        if self.closed:
            return "closed"
        return self.left.state if self.left and not self.went_on else "open"


def administration(entries: Iterable[Entry]) -> Administration:
    """Fold the entries of a case."""
    meter, closed_at = "", ""
    sheet: DataSheet = {}
    attached: dict[str, Attached] = {}
    left: Left | None = None
    closed: Closed | None = None
    reopened: list[Reopened] = []
    went_on = False
    for entry in entries:
        event = entry.event
        if isinstance(event, MeterNamed):
            meter, sheet = event.tag, event.data_sheet
        elif isinstance(event, Attached):
            attached[event.sha256] = event  # the same file once
        elif isinstance(event, Left):
            left, went_on = event, False
        elif isinstance(event, Closed):
            closed, closed_at = event, entry.at
        elif isinstance(event, Reopened):
            closed, closed_at, went_on = None, "", left is not None
            reopened.append(event)
        elif not isinstance(event, Note | Resumed):
            went_on = left is not None
    return Administration(meter, tuple(attached.values()), left, went_on, closed, closed_at, tuple(reopened), sheet)
