"""Recorded cases are checked against the rule book before they are believed, and replayed."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.cases.record import read_cases
from diagnose.errors import ProblemsFound
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement
from diagnose.rule_book.load import load_folder
from tests.reasoning.books import real_rule_book
from tests.rule_book.lamps import MINIMAL

BOOK = load_folder(MINIMAL)
RECORDED = Path(__file__).parent / "recorded"
GOOD = (RECORDED / "bulb_blown_told.yaml").read_text(encoding="utf-8")


def test_a_folder_of_cases_is_read_in_order() -> None:
    """Answers become observations in SI units; one cause may stand without brackets."""
    told, measured = read_cases(RECORDED, BOOK)
    assert told.data_sheet == {"nominal-voltage": 230.0, "place": "inside"}
    assert told.understood == {"lamp-dark": True}
    assert told.answers == (CheckDone(check="look-at-bulb", answer="broken"),)
    assert measured.answers == (
        FindingSeen(finding="lamp-dark", present=True),
        Measurement(quantity="voltage", value=2.0),
        CheckDone(check="look-at-bulb", answer="whole"),
    )
    assert (measured.confirmed, measured.invented) == (("supply-missing",), True)


def test_how_far_down_a_confirmed_cause_may_stand(tmp_path: Path) -> None:
    """First for a single cause, among three for several, or what the case says."""
    path = tmp_path / "bulb_blown_told.yaml"
    path.write_text(GOOD.replace("[bulb-blown]", "[bulb-blown, supply-missing]"), encoding="utf-8")
    assert read_cases(path, BOOK)[0].within_first == 3
    path.write_text(GOOD + "within-first: 2\n", encoding="utf-8")
    assert read_cases(path, BOOK)[0].within_first == 2
    assert read_cases(RECORDED, BOOK)[0].within_first == 1


WRONG = [
    ("id: bulb-blown-told", "id: bulb-blown", "error[file-name] id and file name differ"),
    ("invented: true\n", "", "error[missing-source] a case is either"),
    ("invented: true\n", 'source: " "\n', "error[missing-source] a case is either"),
    ("invented: true\n", "source: a book\nnot: all of it\n", "error[unknown-field] there is no field `not` here"),
    ("confirmed: [bulb-blown]\n", "", "error[missing-field] `confirmed` is missing"),
    ("[bulb-blown]", "[]", "error[missing-field] no cause is confirmed"),
    ("[bulb-blown]", "[bulb-blwon]", "error[unknown-cause] no cause is called `bulb-blwon` (did you mean `bulb-blown`"),
    ("{lamp-dark: present}", "{lamp-drak: present}", "error[unknown-finding] no finding is called `lamp-drak`"),
    ("{lamp-dark: present}", "{lamp-dark: prsent}", "error[bad-answer] a finding is `present` or `absent`"),
    ("answer: broken", "answer: brokn", "error[unknown-answer] `brokn` is no answer of `look-at-bulb`"),
    ("check: look-at-bulb", "check: look-at-bulp", "error[unknown-check] no check is called `look-at-bulp`"),
    ("{check: look-at-bulb, answer: broken}", "{measured: voltge, value: 2 V}", "error[unknown-quantity]"),
    ("{check: look-at-bulb, answer: broken}", "{measured: voltage, value: 2}", "error[bad-value] `2` has no unit"),
    ("{check: look-at-bulb, answer: broken}", "{finding: lamp-dark}", "error[bad-answer] an answer is"),
    ("{check: look-at-bulb, answer: broken}", "looked", "error[wrong-type] expected a mapping"),
    ("place: inside", "place: attic", "error[bad-value] `place` is never `attic`"),
    ("report: No", "reprot: No", "error[unknown-field] there is no field `reprot` here (did you mean `report`?)"),
]


@pytest.mark.parametrize(("old", "new", "told"), WRONG, ids=[f"{old.strip()} → {new}" for old, new, _ in WRONG])
def test_a_mistake_in_a_case_is_told_with_its_place(tmp_path: Path, old: str, new: str, told: str) -> None:
    """File, line, what is wrong, and what may have been meant."""
    assert old in GOOD
    path = tmp_path / "bulb_blown_told.yaml"
    path.write_text(GOOD.replace(old, new), encoding="utf-8")
    with pytest.raises(ProblemsFound) as raised:
        read_cases(path, BOOK)
    lines = [problem.in_one_line() for problem in raised.value.problems]
    assert any(line.startswith(f"{path}:") and told in line for line in lines), lines


def test_a_published_case_names_its_source(tmp_path: Path) -> None:
    """A source takes the place of `invented: true`; a note says what of the case is not in the source."""
    path = tmp_path / "bulb_blown_told.yaml"
    published = "source: A handbook of lamps (1999)\nnote: The voltage was added.\n"
    path.write_text(GOOD.replace("invented: true\n", published), encoding="utf-8")
    assert [case.invented for case in read_cases(path, BOOK)] == [False]


def test_a_case_both_invented_and_published(tmp_path: Path) -> None:
    """The source that cannot stand beside `invented: true` is told at its line."""
    path = tmp_path / "bulb_blown_told.yaml"
    path.write_text(GOOD.replace("invented: true", "invented: true\nsource: a book"), encoding="utf-8")
    with pytest.raises(ProblemsFound) as raised:
        read_cases(path, BOOK)
    (problem,) = raised.value.problems
    assert problem.code == "both-invented-and-published"
    assert problem.text == "a case is either `invented: true` or names its published `source`"
    assert problem.place.line == 4


def test_a_case_of_nothing(tmp_path: Path) -> None:
    """A case has a report, or answers, or both."""
    path = tmp_path / "x.yaml"
    path.write_text("id: x\ntitle: x\ninvented: true\nconfirmed: bulb-blown\n", encoding="utf-8")
    with pytest.raises(ProblemsFound, match="empty-case"):
        read_cases(path, BOOK)


def test_problems_of_all_cases_at_once(tmp_path: Path) -> None:
    """Two broken files and a good one give the problems of both."""
    for name, text in {"a": "id: [", "b": "id: b\n", "bulb_blown_told": GOOD}.items():
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(ProblemsFound) as raised:
        read_cases(tmp_path, BOOK)
    assert {Path(problem.place.file).stem for problem in raised.value.problems} == {"a", "b"}


PAIRS = (
    "id: pairs\ntitle: Pairs\ninvented: true\nconfirmed: [receiver-reads-zero-twenty]\n"
    "data-sheet: {output: [4-20 mA]}\nreport: The control system shows something else than the display.\n"
    "answers: [{check: how-control-system-differs, readings: 0 20.1; 24.8 39.7; 50.3 60.4; 74.9 80 m3/h}]\n"
)


class TestReadings:
    """Pairs of readings given in place of an answer."""

    def test_what_they_say_counts(self, tmp_path: Path) -> None:
        """Findings of the comparison are among the answers, with the readings for words."""
        path = tmp_path / "pairs.yaml"
        path.write_text(PAIRS, encoding="utf-8")
        (case,) = read_cases(path, real_rule_book())
        (weighed,) = [each for each in case.answers if isinstance(each, Compared)]
        assert FindingSeen(finding="control-system-disagrees", present=True, quote=weighed.quote) in case.answers
        assert weighed.decibans["sender-4-20-receiver-0-20"] == 0.0

    @pytest.mark.parametrize(
        ("wrong", "told"),
        [
            ("0 20.1; 24.8 39.7", "the unit of the reference readings is missing; write it after the last pair"),
            ("0 20.1; 24.8 m3/h", "is not a pair"),
        ],
    )
    def test_what_cannot_be_read_is_told_on_its_line(self, wrong: str, told: str, tmp_path: Path) -> None:
        """No unit, half a pair, a check that takes none."""
        path = tmp_path / "pairs.yaml"
        path.write_text(PAIRS.replace("0 20.1; 24.8 39.7; 50.3 60.4; 74.9 80 m3/h", wrong), encoding="utf-8")
        with pytest.raises(ProblemsFound, match=told) as raised:
            read_cases(path, real_rule_book())
        assert raised.value.problems[0].place.line == 7

    def test_a_check_that_takes_none_is_told(self, tmp_path: Path) -> None:
        """With those that do."""
        path = tmp_path / "pairs.yaml"
        path.write_text(PAIRS.replace("how-control-system-differs", "fuse-history"), encoding="utf-8")
        with pytest.raises(ProblemsFound, match="no check that takes pairs of readings"):
            read_cases(path, real_rule_book())
