"""What a remedy would only hide is looked for before it: with the rule book as it stands, on common complaints."""

from __future__ import annotations

from diagnose.observations import CheckDone, FindingSeen, Observation, State
from diagnose.reasoning.diagnosis import Diagnosis, diagnose
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine

BOOK = real_engine().rule_book


def seen(*present: str, absent: tuple[str, ...] = ()) -> list[Observation]:
    """Return findings that somebody saw, and others that were looked for in vain."""
    there = [FindingSeen(finding=name, present=True) for name in present]
    return [*there, *(FindingSeen(finding=name, present=False) for name in absent)]


def diagnosed(observations: list[Observation], sheet: DataSheet | None = None) -> Diagnosis:
    """Return the diagnosis for a skilled person."""
    return diagnose(real_engine(), sheet or {}, tuple(observations), State(competence="skilled"))


def test_no_threshold_is_moved_before_a_coating_a_core_and_an_earth_were_looked_at() -> None:
    """A full pipe that counts as empty, settings changed lately: the threshold is likeliest, others are possible."""
    told = seen(
        "empty-pipe-indicated",
        "zero-while-flowing",
        "empty-pipe-threshold-off",
        "worked-on-settings",
        absent=("pipe-not-full",),
    )
    found = diagnosed(told)
    assert found.causes[0].id == "empty-pipe-threshold-wrong"
    assert found.causes[0].probability > BOOK.settings.act_from
    assert found.proposals.next.kind == "check"
    assert "would only hide" in found.proposals.next.because


def test_a_termination_that_the_plan_lacks_is_not_fitted_before_anybody_looked() -> None:
    """It is often missing and seldom to blame: a look or a measurement comes before resistors are fitted."""
    found = diagnosed(seen("bus-intermittent"), {"output": ("RS-485",), "bus-terminations": 0.0})
    assert found.causes[0].id == "bus-not-terminated"
    assert found.proposals.next.kind == "check"


def test_after_a_change_of_drive_the_liquids_earth_comes_before_the_motor_cable() -> None:
    """Nothing is known of straps, shields and routes yet: minutes come before hours."""
    only_with_it = "only while a frequency converter or its motor runs, even one that moves nothing through this meter"
    told = [*seen("reading-erratic"), CheckDone(check="what-runs-when-disturbed", answer=only_with_it)]
    found = diagnosed(told, {"pipe": "plastic or lined"})
    assert found.proposals.next.kind == "check"
    assert found.proposals.next.id not in {"damp-more", "drive-interference"}
    no_rings = diagnosed(told, {"pipe": "plastic or lined", "earthing": "none"})
    assert no_rings.causes[0].id == "no-equipotential-bonding"
    assert no_rings.proposals.next.id in {"temporary-bond", "bond-for-now"}


def test_a_bus_of_no_ohms_is_a_short_and_not_one_termination_too_many() -> None:
    """Whoever takes terminations off finds nothing."""
    short = diagnosed([*seen("bus-silent", "bus-lines-shorted", "bus-resistance-low")], {"output": ("RS-485",)})
    share = {each.id: each.probability for each in short.causes}
    assert share["bus-lines-short-circuited"] > 10 * share["bus-terminated-too-often"]
