"""Recorded cases are told again through the protocol, and held against what they demand."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.authoring.replay import figures, replay
from diagnose.cases.record import RecordedCase, read_cases
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from tests.cases.test_record import GOOD, PAIRS, RECORDED
from tests.engines import real_engine
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)
ENGINE = Engine(BOOK)


@pytest.mark.parametrize("case", read_cases(RECORDED, BOOK), ids=lambda case: case.id)
def test_a_recorded_case_comes_out_as_confirmed(case: RecordedCase) -> None:
    """The confirmed cause ranks first, and the report says what it should."""
    result = replay(case, ENGINE)
    assert result.failures == ()
    assert set(result.ranks.values()) == {1}


def test_a_case_that_comes_out_otherwise_says_how(tmp_path: Path) -> None:
    """Rank, demand, what came first, and what was not understood."""
    path = tmp_path / "bulb_blown_told.yaml"
    text = GOOD.replace("[bulb-blown]", "[supply-missing]").replace("lamp-dark: present", "lamp-dark: absent")
    path.write_text(text, encoding="utf-8")
    assert replay(read_cases(path, BOOK)[0], ENGINE).failures == (
        "`supply-missing` ranks 2, must be within the first 1; first is `bulb-blown`",
        "the report was not understood to say `lamp-dark`: absent",
    )


class TestFigures:
    """What many replays come to."""

    @staticmethod
    def told(tmp_path: Path, **texts: str) -> str:
        """Return the figures of cases made of the lamp's."""
        for name, text in texts.items():
            made = text.replace("id: bulb-blown-told", f"id: {name}")
            (tmp_path / f"{name}.yaml").write_text(made, encoding="utf-8")
        return figures([replay(case, ENGINE) for case in read_cases(tmp_path, BOOK)])

    def test_published_cases_are_told_separately(self, tmp_path: Path) -> None:
        """Here the only published case is the one that fails."""
        wrong = GOOD.replace("invented: true", "source: a book").replace("[bulb-blown]", "[supply-missing]")
        assert self.told(tmp_path, a=GOOD, b=GOOD, c=wrong) == (
            "3 cases (2 invented, 1 published): a confirmed cause first in 2, "
            "all confirmed causes in the first three in 3, 1 failed; published alone: "
            "a confirmed cause first in 0, all confirmed causes in the first three in 1"
        )

    def test_cases_of_one_kind_are_told_once(self, tmp_path: Path) -> None:
        """Nothing stands apart where all are published."""
        assert self.told(tmp_path, a=GOOD.replace("invented: true", "source: a book")) == (
            "1 cases (1 published): a confirmed cause first in 1, "
            "all confirmed causes in the first three in 1, 0 failed"
        )

    def test_no_case_at_all(self) -> None:
        """An empty folder is not a failure."""
        assert figures([]) == (
            "0 cases: a confirmed cause first in 0, all confirmed causes in the first three in 0, 0 failed"
        )


def test_what_pairs_of_readings_say_counts(tmp_path: Path) -> None:
    """The case replays with the findings of the comparison."""
    path = tmp_path / "pairs.yaml"
    path.write_text(PAIRS, encoding="utf-8")
    (case,) = read_cases(path, real_engine().rule_book)
    assert not replay(case, real_engine()).failures
