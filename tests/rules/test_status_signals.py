"""What the rule book says a meter's signal is worth (NAMUR NE 107) goes by what the cause does to it."""

from __future__ import annotations

from diagnose.authoring.lookup import described
from tests.engines import real_engine

CAUSES = real_engine().rule_book.causes


def test_a_function_check_is_done_on_purpose() -> None:
    """A missing or wrong output is none: whoever checks, simulates or holds leaves a mark of it."""
    checked = {cause.id for cause in CAUSES.values() if cause.signal == "function check"}
    marks = {"simulation-indicated", "self-test-at-those-times"}
    marked = {cause.id for cause in CAUSES.values() if marks & set(cause.shows)}
    assert {"flow-value-simulated", "output-held-or-simulated", "measurement-forced-to-zero"} <= checked <= marked


def test_what_the_receiver_misreads_is_a_good_signal() -> None:
    """Behind the terminals of the receiver, and in the reference, nothing is wrong with what the meter sends."""
    areas = {"receiver", "reference"}
    misread = {"register-off-by-one", "word-order-differs", "data-type-wrong", "bus-scale-differs"}
    behind = {cause.id for cause in CAUSES.values() if cause.area in areas} | misread
    assert {CAUSES[name].signal for name in behind} == {"good"}


def test_where_no_signal_arrives_it_has_failed() -> None:
    """No current, no pulse or no reply at all is a failure, whatever made it so on the way to the receiver."""
    missing = {"output-dead", "no-pulses-counted", "bus-silent"}
    causes = [
        cause
        for cause in CAUSES.values()
        if cause.area in ("current-output", "pulse-output", "bus")
        and any(cause.shows.get(name, 0.0) >= 0.9 for name in missing)
    ]
    assert {"loop-open", "no-current-output-fitted", "no-pull-up"} <= {cause.id for cause in causes}
    assert {cause.signal for cause in causes if cause.id != "counter-input-failed"} == {"failure"}


def test_every_cause_gives_the_reason_of_its_signal() -> None:
    """One line that says what is left of the measured value, and is no other word for the signal."""
    reasons = {cause.id: cause.signal_because for cause in CAUSES.values()}
    assert [name for name, why in reasons.items() if len(why.split()) < 3] == []


def test_every_source_is_cited_by_something() -> None:
    """A standard that nothing rests on only looks well."""
    book = real_engine().rule_book
    idle = [name for name in book.sources if described(book, name)[0].strip().endswith("nothing")]
    assert idle == []
    assert book.settings.signals_source == "ne-107"
