"""What rules call wrong of a data sheet alone, its review calls wrong or doubtful: each rule on its own examples."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from diagnose.reasoning.engine import rules_by_plan
from diagnose.reasoning.reviewing import review
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.quantities import Value
from diagnose.rule_book.verdicts import verdicts
from tests.engines import real_engine

BOOK = real_engine().rule_book
LISTED = {name: each.id for each in BOOK.reviews.values() for name in (*each.wrong, *each.doubtful)}
SAME_AS_ANOTHER = {"bus-line-badly-laid"}
"""Found by a rule together with another finding that stands in the review."""


def planned() -> Iterator[tuple[str, str, dict[str, Value]]]:
    """Yield rules with something wrong that they find on a data sheet alone, and an example of it."""
    for name in sorted(rules_by_plan(BOOK)):
        rule = BOOK.inference[name]
        for example in (each for each in rule.examples if each.fires):
            fields = {key for key in example.given if key in BOOK.quantities}
            sheet = {key: read_value(BOOK.quantities[key], str(example.given[key])) for key in fields}
            for finding in rule.present:
                if BOOK.findings[finding].says_what_is_wrong and finding not in SAME_AS_ANOTHER:
                    yield name, finding, sheet


EXAMPLES = list(planned())


@pytest.mark.parametrize(("rule", "finding", "sheet"), EXAMPLES, ids=[f"{each[0]}-{each[1]}" for each in EXAMPLES])
def test_what_is_wrong_by_plan_stands_in_the_review(rule: str, finding: str, sheet: dict[str, Value]) -> None:
    """Some point of the review rests on the finding; where it concerns the meter, it is judged so."""
    assert finding in LISTED, rule
    outputs = {word for each in BOOK.reviews.values() for word in each.applies.get("output", ())}
    whole = {"output": tuple(sorted(outputs)), **sheet}
    points = {point.id: point.judgement for point in review(real_engine(), whole)}
    concerned = BOOK.reviews[LISTED[finding]].applies.keys() - {"output"}
    assert concerned or points[LISTED[finding]] in ("wrong", "doubtful"), points


@pytest.mark.parametrize(("rule", "finding", "sheet"), EXAMPLES, ids=[f"{each[0]}-{each[1]}" for each in EXAMPLES])
def test_calculations_say_the_same(rule: str, finding: str, sheet: dict[str, Value]) -> None:
    """Where `diagnose calc` calls these figures doubtful, so does the review: both go by the same rules."""
    doubted = {name for each in verdicts(BOOK, sheet, {}) if each.rule == rule for name in each.present}
    assert doubted <= {BOOK.findings[name].title for name in LISTED} | set(LISTED) | SAME_AS_ANOTHER, finding


def test_points_of_outputs_that_the_meter_has_not_are_not_listed() -> None:
    """A meter with pulses alone is judged by no loop and no bus; one of which nothing is known, by all."""
    of_loop, of_bus = {"loop-budget", "range", "receiver-range"}, {"bus-line", "bus-bias", "bus-addresses"}
    points = {point.id for point in review(real_engine(), {"output": ("pulse",)})}
    assert not points & (of_loop | of_bus)
    assert points >= {"pulse-output", "pulse-length", "cut-off"}
