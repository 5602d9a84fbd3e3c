"""Short tickets from the report alone to the ranking: how often the cause is among the first."""

from __future__ import annotations

from pathlib import Path

import yaml

from diagnose.observations import State
from diagnose.reasoning.diagnosis import diagnose
from tests.engines import real_engine
from tests.language.test_tickets import book, understood

TICKETS = yaml.safe_load((Path(__file__).parent / "short_tickets.yaml").read_text(encoding="utf-8"))


def rank(text: str, causes: list[str]) -> int:
    """Return the best place of any of the causes."""
    observations = understood(text).observations()
    order = [each.id for each in diagnose(real_engine(), {}, observations, State()).causes]
    return min(order.index(name) + 1 if name in order else len(order) + 1 for name in causes)


def test_the_cause_is_mostly_among_the_first() -> None:
    """First in three of four, among the first three in 85 % of them: less would be a loss."""
    ranks = [rank(ticket["text"], ticket["causes"]) for ticket in TICKETS]
    assert sum(each == 1 for each in ranks) >= 0.75 * len(ranks)
    assert sum(each <= 3 for each in ranks) >= 0.85 * len(ranks)


def test_every_cause_named_is_one() -> None:
    """No ticket counts for a cause that the rule book does not have."""
    assert {name for ticket in TICKETS for name in ticket["causes"]} <= book().causes.keys()
