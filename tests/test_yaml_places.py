"""YAML is read strictly, and every value knows where it stands."""

from __future__ import annotations

import re
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import YAML_LEVELS
from diagnose.place import Place
from diagnose.yaml_places import parse_document

PLAIN = [
    ("no", "no"),
    ("on", "on"),
    ("True", "True"),
    ("true", True),
    ("false", False),
    ("~", None),
    ("", None),
    ("12:30", "12:30"),
    ("010", "010"),
    ("0x10", "0x10"),
    ("1_000", "1_000"),
    (".5", ".5"),
    (".inf", ".inf"),
    ("2024-01-31", "2024-01-31"),
    ("3.6 mA", "3.6 mA"),
    ("0", 0),
    ("-12", -12),
    ("2.50", 2.5),
    ("1e-6", 1e-6),
    ("8E1", "8E1"),
    ("'12'", "12"),
    ('"true"', "true"),
]


@pytest.mark.parametrize(("written", "read"), PLAIN, ids=[repr(written) for written, _ in PLAIN])
def test_a_plain_value_is_what_it_looks_like(written: str, read: Any) -> None:
    """Only plain decimal numbers, true, false and nothing are no strings."""
    document = parse_document(f"a: {written}\n", "x.yaml")
    assert document.problems == []
    assert (document.data["a"], type(document.data["a"])) == (read, type(read))


def test_places_of_keys_and_values() -> None:
    """Keys, values and items of lists know line, column and length."""
    document = parse_document("a:\n  - one\n  - b: two three\n", "x.yaml")
    assert document.place(("a", 1, "b")) == Place("x.yaml", 3, 8, 9)
    assert document.place(("a", 1, "b"), of_key=True) == Place("x.yaml", 3, 5, 1)
    assert document.place(("a", 0)) == Place("x.yaml", 2, 5, 3)


def test_what_has_no_place_has_that_of_what_is_around_it() -> None:
    """A field that is missing is told at the mapping that lacks it."""
    document = parse_document("a:\n  b: 1\n", "x.yaml")
    assert document.place(("a", "c", "d")) == Place("x.yaml", 2, 3, 1)


def test_columns_count_letters_and_not_bytes() -> None:
    """Letters beyond ASCII before a value do not move its caret."""
    document = parse_document("müß: [°C, µS]\n", "x.yaml")
    assert document.place(("müß", 1)) == Place("x.yaml", 1, 11, 2)


def test_as_deep_as_allowed_and_one_deeper() -> None:
    """Nesting is limited, so that nothing can exhaust the stack."""
    assert parse_document("[" * YAML_LEVELS + "]" * YAML_LEVELS, "x.yaml").problems == []
    (problem,) = parse_document("[" * (YAML_LEVELS + 1) + "]" * (YAML_LEVELS + 1), "x.yaml").problems
    assert problem.text.endswith("it is nested too deeply")


def test_brackets_without_end() -> None:
    """A hundred thousand open brackets are told as one problem."""
    assert len(parse_document("[" * 100_000, "x.yaml").problems) == 1


def test_number_of_five_thousand_digits() -> None:
    """A number that no machine holds is a problem at its place and no crash."""
    (problem,) = parse_document("a: " + "9" * 5000, "x.yaml").problems
    assert (problem.code, problem.place.line, problem.place.column) == ("bad-figure", 1, 4)


def _is_no_figure(text: str) -> bool:
    """Tell whether a text is not one like 1e6, which YAML 1.1 takes for a text and a rule author for a figure."""
    return re.fullmatch(r"[-+]?[0-9.]+[eE][-+]?[0-9]+", text) is None


_SEEN = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp", "Cf"), include_characters="\n\t\u200d\ufeff")
_PLAIN_DATA = st.recursive(
    st.booleans() | st.integers(-(10**12), 10**12) | st.text(_SEEN, max_size=20).filter(_is_no_figure),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(_SEEN, max_size=8), inner, max_size=4),
    max_leaves=12,
)


@settings(deadline=None)
@given(st.dictionaries(st.text(_SEEN, max_size=8).filter(lambda key: key != "<<"), _PLAIN_DATA, max_size=4))
def test_what_another_program_writes_is_read_as_it_was(data: dict[str, Any]) -> None:
    """Quoted as PyYAML quotes it, any texts that can be seen, whole numbers, true and false come back the same."""
    text = yaml.safe_dump(data, default_style=None, allow_unicode=False)
    if "!!" in text or "<<" in text:
        return
    document = parse_document(text, "x.yaml")
    assert document.problems == []
    assert document.data == data


@settings(deadline=None)
@given(st.text(max_size=200))
def test_no_text_at_all_makes_it_fail(text: str) -> None:
    """Whatever stands in a file, the result is data or a problem with a place in that file."""
    document = parse_document(text, "x.yaml")
    assert all(problem.place.file == "x.yaml" and problem.code for problem in document.problems)
    assert all(problem.in_full().startswith("error[") for problem in document.problems)


@pytest.mark.parametrize(
    "text",
    [
        "a: b\t\n",
        "a: [b]\t\n",
        'a: "b"\t\n',
        "a:\tb\n",
        "a: >\t\n  b\n",
        "a: ># folded\n  b\n",
        "a: b\t# c\n",
        "a: [b,\tc]\n",
        "a: {b?: 1}\n",
        "a: |\n  b\n\ufeffc: d\n",
    ],
)
def test_what_one_reader_takes_and_another_does_not_is_refused(text: str) -> None:
    """On a machine without the parser in C it would be read otherwise, or not at all."""
    assert parse_document(text, "x.yaml").problems


@pytest.mark.parametrize("text", ["a: |\n  1\t2\n  3\t4\n", 'a: "b\tc"\n'])
def test_a_tab_inside_a_text_is_taken(text: str) -> None:
    """A table that was pasted into a recorded case has tabs."""
    assert not parse_document(text, "x.yaml").problems
