"""A simulated interview in which no step is ever proposed, since nobody says what is wrong."""

from __future__ import annotations

import pytest

from diagnose.authoring import simulated_interview
from diagnose.authoring.figures import figures
from diagnose.authoring.simulated_interview import interview
from diagnose.authoring.simulation import SimulatedFault
from diagnose.reasoning.engine import Engine
from tests.authoring.invented import fault, lamp
from tests.reasoning.books import cause, finding, remedy

OLD = lamp(finding("old", kind="history"), cause("worn", {"old": 0.99}), remedy("worn", works=1.0))


def test_causes_that_were_never_ranked_stand_behind_all_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """The figures count such an interview as one that did not find the cause."""
    monkeypatch.setattr(simulated_interview, "MOST_PROMPTS", 5)
    complaint = fault("worn", complaint=("old",))
    result = interview(Engine(OLD), complaint, 0.0)
    assert (result.end, result.best, result.ranks) == ("undecided", (), {"worn": len(OLD.causes) + 1})
    assert figures(OLD, [SimulatedFault(kind="single", fault=complaint, interview=result)]).areas[0].first == 0
