"""Which cases are found: by columns, by words with and without full-text search, and by likeness."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.cases.events import Closed, Left, MeterNamed, Note, TextRead
from diagnose.cases.index import Index
from diagnose.cases.listing import Wanted, cases_like, cases_wanted
from diagnose.errors import BadInput
from diagnose.observations import FindingSeen
from tests.cases.test_index import keep

FOUND = Closed(outcome="found", cause="bulb-blown", remedy="change-bulb", parts=("bulb E27",), rank=1)
LOW = Closed(outcome="found", cause="fuse-blown", rank=7)
UNLISTED = Closed(outcome="not listed", words="a moth in the socket")


def seen(*names: str) -> list[FindingSeen]:
    """Return these findings, present."""
    return [FindingSeen(finding=name, present=True) for name in names]


@pytest.fixture
def index(tmp_path: Path) -> Iterator[Index]:
    """Return the index of five cases."""
    keep(tmp_path, "a", MeterNamed(tag="L-20"), TextRead(text="Dark since noon"), *seen("dark", "smell", "warm"), FOUND)
    keep(tmp_path, "b", MeterNamed(tag="L-21"), TextRead(text="flickers, 100% sure"), *seen("dark", "smell"), LOW)
    keep(tmp_path, "c", MeterNamed(tag="K-1"), *seen("dark"), Left(state="cured", causes=(("bulb-blown", 0.4),)))
    keep(tmp_path, "d", *seen("dark", "cold"), Note(text="ask_the_cat"), UNLISTED)
    keep(tmp_path, "e", *seen("dark"))
    with Index.open(tmp_path) as opened:
        yield opened


def named(index: Index, **wanted: object) -> str:
    """Return the names of the cases that are wanted, in order of their letters."""
    return "".join(sorted(each.name for each in cases_wanted(index, Wanted(**wanted)).cases))  # type: ignore[arg-type]


def test_by_columns(index: Index) -> None:
    """Alone and together; a star stands for any letters, and nothing else for anything but itself."""
    assert named(index) == "abcde"
    assert named(index, meter="L-20") == named(index, meter="l-20") == "a"
    assert named(index, meter="L-2*") == "ab"
    assert named(index, meter="L-2?") == named(index, meter="L-2[01]") == ""
    assert named(index, state="closed") == "abd"
    assert named(index, cause="bulb-blown") == "ac"
    assert named(index, cause="bulb-blown", state="cured") == "c"
    assert named(index, to_review=True) == "bd"


def test_what_was_looked_for_in_vain_has_no_cause(tmp_path: Path) -> None:
    """Whatever words stand beside the outcome; a search finds them."""
    keep(tmp_path, "a", Closed(outcome="not found", words="bulb-blown"))
    with Index.open(tmp_path) as opened:
        ((case,), of) = cases_wanted(opened, Wanted(words="bulb"))
        assert (of, case.outcome, case.cause) == (1, "not found", "")
        assert named(opened, cause="*") == "a"
        assert named(opened, cause="bulb-blown") == ""


def test_by_days(index: Index, tmp_path: Path) -> None:
    """The last day counts whole, and a month is all of its days."""
    (day,) = {each.changed[:10] for each in cases_wanted(index, Wanted()).cases}
    assert named(index, since=day, until=day) == named(index, until=day[:7]) == "abcde"
    assert named(index, since="9999") == named(index, until="1999-12-31") == ""


def test_the_latest_come_first_and_all_are_counted(index: Index) -> None:
    """However few are shown."""
    found = cases_wanted(index, Wanted(), 2)
    assert (len(found.cases), found.of) == (2, 5)


WORDS = {
    "noon": "a",
    "NOON": "a",
    "noo dar": "a",
    "oon": "",
    "bulb": "ac",
    "E27": "a",
    "moth socket": "d",
    "moth noon": "",
    "100%": "b",
    "ask_the_cat": "d",
    "L 20": "a",
    '"; DROP TABLE cases': "",
    "NEAR(": "",
}


@pytest.mark.parametrize("full_text", [True, False])
@pytest.mark.parametrize(("words", "names"), WORDS.items())
def test_by_words(words: str, names: str, full_text: bool, index: Index, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of them, each at the start of a word; a SQLite without full-text search finds the same."""
    if not full_text:
        monkeypatch.setattr(Index, "full_text", False)
    assert named(index, words=words) == names


def test_cases_like_one_are_told_with_what_they_share(index: Index) -> None:
    """The rarest first; what all have makes none alike."""
    (only,) = cases_like(index, "a")
    assert (only.case.name, only.shared) == ("b", ("smell", "dark"))
    assert 0 < only.likeness < 1
    assert cases_like(index, "e") == ()
    with pytest.raises(BadInput, match="there is no case nobody"):
        cases_like(index, "nobody")


def test_cases_like_one_are_among_those_that_are_wanted(index: Index) -> None:
    """By whatever columns and words: what is not asked for is not told, however like it is."""
    (only,) = cases_like(index, "a")
    same = {"meter": only.case.meter, "state": only.case.state, "since": only.case.changed}
    for name, value in same.items():
        assert cases_like(index, "a", wanted=Wanted(**{name: value})) == (only,), name
    others = (Wanted(meter="no-such"), Wanted(cause="no-such"), Wanted(since="9999"), Wanted(words="zz"))
    assert [cases_like(index, "a", wanted=each) for each in others] == [()] * len(others)


def test_a_case_is_wholly_like_one_with_the_same_findings(tmp_path: Path) -> None:
    """And comes before one that shares less; a rare finding weighs more than a common one."""
    keep(tmp_path, "one", *seen("rare", "common"))
    keep(tmp_path, "same", *seen("rare", "common"))
    keep(tmp_path, "rare", *seen("rare", "other"))
    for name in ("common", "more", "most"):
        keep(tmp_path, name, *seen("common", "other"))
    keep(tmp_path, "none", *seen("strange"))
    with Index.open(tmp_path) as index:
        alike = cases_like(index, "one")
    assert [each.case.name for each in alike] == ["same", "rare", "common", "more", "most"]
    assert alike[0].likeness == pytest.approx(1)
