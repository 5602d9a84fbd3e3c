"""Nothing big on words alone: a figure that only stands in a report was not measured here."""

from __future__ import annotations

import pytest

from diagnose.observations import Measurement, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.triage.report import triage
from tests.engines import real_engine

ENGINE = real_engine()


@pytest.mark.parametrize("heard", [True, False])
def test_a_figure_points_to_a_remedy_only_where_it_was_taken(heard: bool) -> None:
    """The liquid hardly conducts: told, it is looked at first; measured, something may be changed."""
    reading = Measurement(quantity="measured-conductivity", value=2e-4, heard=heard)
    step = diagnose(ENGINE, {}, (reading,), State()).proposals.next
    assert (step.kind == "remedy") is not heard


def test_hearsay_of_a_figure_exchanges_no_meter() -> None:
    """As somebody wrote it."""
    step = triage(ENGINE, "deionised, it's 2 uS/cm I was told. Reading is noisy.", {}).diagnosis.proposals.next
    assert step.kind == "check"
