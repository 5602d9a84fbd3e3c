"""What the rule book says a meter's signal is worth (NAMUR NE 107) goes by what the cause does to it."""

from __future__ import annotations

from diagnose.rule_book.book import RuleBook


def test_a_function_check_is_done_on_purpose(rule_book: RuleBook) -> None:
    """A missing or wrong output is none: whoever checks, simulates or holds leaves a mark of it."""
    checked = {cause.id for cause in rule_book.causes.values() if cause.signal == "function check"}
    marked = {cause.id for cause in rule_book.causes.values() if "simulation-indicated" in cause.shows}
    assert {"flow-value-simulated", "output-held-or-simulated", "measurement-forced-to-zero"} <= checked <= marked


def test_what_the_receiver_misreads_is_a_good_signal(rule_book: RuleBook) -> None:
    """Behind the terminals of the receiver, and in the reference, nothing is wrong with what the meter sends."""
    areas = {"receiver", "reference"}
    misread = {"register-off-by-one", "word-order-differs", "data-type-wrong", "bus-scale-differs"}
    behind = {cause.id for cause in rule_book.causes.values() if cause.area in areas} | misread
    assert {rule_book.causes[name].signal for name in behind} == {"good"}


def test_where_no_signal_arrives_it_has_failed(rule_book: RuleBook) -> None:
    """No current, no pulse and no reply, nearly always, is a failure, and not one where only the receiver is at fault."""
    missing = {"output-dead", "no-pulses-counted", "bus-silent"}
    causes = [
        cause
        for cause in rule_book.causes.values()
        if cause.area in ("current-output", "pulse-output", "bus")
        and any(cause.shows.get(name, 0.0) >= 0.9 for name in missing)
    ]
    assert {cause.id for cause in causes} >= {"loop-open", "no-current-output-fitted", "no-pull-up", "bus-address-differs"}
    assert {cause.signal for cause in causes if cause.id != "counter-input-failed"} == {"failure"}
