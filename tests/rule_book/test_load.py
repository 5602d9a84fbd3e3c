"""A folder becomes a rule book, or all of its problems."""

from __future__ import annotations

from pathlib import Path
from typing import IO

import pytest

from diagnose import bounded
from diagnose.bounded import RULE_FILE
from diagnose.errors import BadInput, ProblemsFound
from diagnose.rule_book.condition_types import All, FindingIs, Operand, Relation
from diagnose.rule_book.load import examine_folder, load_folder
from tests.rule_book.lamps import MINIMAL, lamp_book, problems_of

AREA = "id: more\ntitle: Wire\nsource: estimate\n"


class TestAGoodRuleBook:
    """What the lamp's rule book becomes."""

    def test_has_no_problem(self) -> None:
        """The small rule book of these tests is right in itself."""
        assert problems_of(MINIMAL) == []

    def test_turns_words_into_numbers(self) -> None:
        """Words of a scale become the numbers that book.yaml gives them."""
        book = load_folder(MINIMAL)
        assert book.causes["bulb-blown"].shows == {"lamp-dark": 0.985, "filament-broken": 0.985}
        assert book.causes["supply-missing"].frequency == 0.3
        assert (book.findings["lamp-dark"].leak, book.findings["voltage-missing"].leak) == (0.002, 0.01)
        assert (book.remedies["change-bulb"].works, book.remedies["supply-missing"].works) == (0.985, 0.95)

    def test_puts_figures_into_si_units(self) -> None:
        """Limits are SI values; a tolerance is a difference, so the zero of a scale does not count."""
        book = load_folder(MINIMAL)
        assert book.quantities["temperature"].plausible == pytest.approx((223.15, 473.15))
        assert book.quantities["temperature"].tolerance == pytest.approx(2.0)
        assert book.quantities["expected-current"].si_factor == pytest.approx(0.001)

    def test_lifts_a_remedy_out_of_its_cause(self) -> None:
        """A remedy that stands inside a cause takes the cause's id and source."""
        book = load_folder(MINIMAL)
        assert book.causes["supply-missing"].remedy == "supply-missing"
        assert book.remedies["supply-missing"].source == "estimate"

    def test_asks_what_no_check_settles(self) -> None:
        """A question becomes a check of its own when no other check's outcome sets the finding."""
        checks = load_folder(MINIMAL).checks
        assert [outcome.answer for outcome in checks["ask-lamp-dark"].outcomes] == ["yes", "no"]
        assert checks["ask-lamp-dark"].minutes == 1
        assert "ask-filament-broken" not in checks

    def test_pushes_not_to_the_leaves(self) -> None:
        """`not` disappears when a rule is read, and a margin goes into the operand."""
        assert load_folder(MINIMAL).inference["voltage-is-there"].when == All(
            (
                Relation(
                    quantity="voltage",
                    relation="above",
                    operands=(Operand(constant=1.0, terms=((0.9, "nominal-voltage"),)),),
                ),
                FindingIs("voltage-missing", False),
            )
        )

    def test_inherits_the_source_of_its_file(self) -> None:
        """An entry without a source has that of its file; ids of sources are their names with hyphens."""
        book = load_folder(MINIMAL)
        assert book.areas["lamp"].source == "estimate"
        assert book.checks["look-at-bulb"].source == "common-practice"

    def test_keeps_ids_in_order(self) -> None:
        """Ids are sorted, so that nothing hangs on the order of files."""
        book = load_folder(MINIMAL)
        assert list(book.checks) == sorted(book.checks)
        assert list(book.causes) == sorted(book.causes)


class TestAllProblemsAtOnce:
    """An author is not sent round in circles."""

    def test_three_mistakes_in_three_files(self, tmp_path: Path) -> None:
        """Three files with a mistake each give three problems, in the order of the files."""
        rules = lamp_book(
            tmp_path,
            areas__one="id: one\ntitel: One\ntitle: One\nsource: estimate\n",
            causes__two="id: two\nid: two\n",
            inference__three="id: three\nwhen: {voltage: {below: 3}}\nthen: {present: voltage-missing}\nbecause: x\n",
        )
        with pytest.raises(ProblemsFound) as raised:
            load_folder(rules)
        assert [problem.in_one_line().split(" ", 2)[:2] for problem in raised.value.problems] == [
            ["rules/areas/one.yaml:2:1:", "error[unknown-field]"],
            ["rules/causes/two.yaml:2:1:", "error[duplicate-key]"],
            ["rules/inference/three.yaml:2:25:", "error[missing-unit]"],
        ]
        assert str(raised.value).count("error[") == 3

    def test_problems_of_one_entry_do_not_hide_each_other(self, tmp_path: Path) -> None:
        """A word that is on no scale does not keep a misspelt field from being told."""
        rules = lamp_book(tmp_path, findings__more="id: more\ntitle: More\nleak: huge\nphrasses: [x]\n")
        assert [problem.code for problem in problems_of(rules)] == ["unknown-word", "unknown-field"]

    def test_broken_settings_do_not_hide_broken_yaml(self, tmp_path: Path) -> None:
        """Without book.yaml words cannot be weighed, but files that are no YAML are told all the same."""
        rules = lamp_book(tmp_path, book=None, areas__more="id: [more")
        assert {problem.code for problem in problems_of(rules)} == {"cannot-read", "yaml"}


class TestForms:
    """The two forms in which a problem is told."""

    def test_long_form_has_line_caret_and_help(self, tmp_path: Path) -> None:
        """The long form shows the line, a caret under the word, and how to mend it."""
        cause = (MINIMAL / "causes/bulb_blown.yaml").read_text(encoding="utf-8")
        rules = lamp_book(tmp_path, causes__bulb_blown=cause.replace("area: lamp", "area: lmap"))
        (problem,) = problems_of(rules)
        assert problem.in_full() == (
            "error[unknown-area]: no area is called `lmap`\n"
            "  --> rules/causes/bulb_blown.yaml:3:7\n"
            "  |\n"
            "3 | area: lmap\n"
            "  |       ^^^^\n"
            "  |\n"
            "help: did you mean `lamp`?"
        )

    def test_caret_stands_under_the_word_behind_a_tab(self, tmp_path: Path) -> None:
        """A tab in the line is a tab above the caret too, however wide the terminal draws it."""
        rules = lamp_book(tmp_path, areas__more='{id: more, title: "a\tb", titel: x, source: estimate}\n')
        (problem,) = problems_of(rules)
        assert (
            '1 | {id: more, title: "a\tb", titel: x, source: estimate}\n  |                     \t    ^^^^^'
            in problem.in_full()
        )

    def test_one_line_form_is_for_editors(self, tmp_path: Path) -> None:
        """The short form is file, line, column, code, text and help on one line."""
        rules = lamp_book(tmp_path, areas__more="id: more\ntitel: Wire\nsource: estimate\n")
        assert [problem.in_one_line() for problem in problems_of(rules)] == [
            "rules/areas/more.yaml:1:1: error[missing-field] `title` is missing (add `title:`)",
            "rules/areas/more.yaml:2:1: error[unknown-field] there is no field `titel` here (did you mean `title`?)",
        ]

    def test_terminal_escapes_are_shown_not_sent(self, tmp_path: Path) -> None:
        """An escape sequence that YAML lets in by `\\e` reaches no terminal, and no line is broken by one."""
        rules = lamp_book(tmp_path, areas__more='id: more\ntitle: Wire\nsource: "red\\u200b\\nline"\n')
        (problem,) = problems_of(rules)
        assert "red\\u200b\\nline" in problem.in_one_line()
        (problem,) = problems_of(lamp_book(tmp_path / "too", areas__more='id: more\ntitle: "\\e[31mred"\n'))
        assert "\x1b" not in problem.in_full() + problem.in_one_line()
        assert "\n" not in problem.in_one_line()


class TestFilesThatCannotBeRead:
    """Files of which no comment could tell what is wrong."""

    def test_bytes_that_are_no_text(self, tmp_path: Path) -> None:
        """A file in another encoding, or binary, is told by its name."""
        rules = lamp_book(tmp_path, areas__latin="title: caf\xe9".encode("latin-1"), areas__binary=bytes(range(256)))
        assert [(p.code, p.place.file) for p in problems_of(rules)] == [
            ("not-text", "rules/areas/binary.yaml"),
            ("not-text", "rules/areas/latin.yaml"),
        ]

    def test_control_characters(self, tmp_path: Path) -> None:
        """A null byte is text to Python, and nothing to YAML."""
        rules = lamp_book(tmp_path, areas__more=b"id: mo\0re\n")
        (problem,) = problems_of(rules)
        assert (problem.code, problem.place.file) == ("yaml", "rules/areas/more.yaml")

    def test_nothing_at_all(self, tmp_path: Path) -> None:
        """A file of no bytes is empty."""
        assert [p.code for p in problems_of(lamp_book(tmp_path, areas__more=b""))] == ["empty-file"]

    def test_more_than_a_rule_file_can_be(self, tmp_path: Path) -> None:
        """A file of more than a megabyte is refused before it is parsed."""
        rules = lamp_book(tmp_path, areas__more=AREA + "#" * RULE_FILE.most)
        (problem,) = problems_of(rules)
        assert (problem.code, problem.help) == ("too-large", "split it up")

    def test_a_folder_in_place_of_a_file(self, tmp_path: Path) -> None:
        """What cannot be opened is told with the system's reason."""
        rules = lamp_book(tmp_path)
        (rules / "areas" / "more.yaml").mkdir()
        (problem,) = problems_of(rules)
        assert problem.code == "cannot-read"
        assert "Is a directory" in problem.text

    def test_a_file_without_permission(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A file that the system refuses is told, and the others are read all the same."""
        rules = lamp_book(tmp_path, areas__more="titel: x\nid: more\n")

        def refusing(path: str | Path, mode: str, buffering: int) -> IO[bytes]:
            if Path(path).name == "lamp.yaml":
                raise PermissionError(13, "Permission denied")
            return open(path, mode, buffering)

        monkeypatch.setattr(bounded, "open", refusing, raising=False)
        told = {(problem.place.file, problem.code) for problem in problems_of(rules)}
        assert {("rules/findings/lamp.yaml", "cannot-read"), ("rules/areas/more.yaml", "unknown-field")} <= told

    def test_no_book_yaml(self, tmp_path: Path) -> None:
        """A folder without book.yaml is no rule book."""
        rule_book, problems = examine_folder(lamp_book(tmp_path, book=None))
        assert rule_book is None
        assert [(p.code, p.place.file) for p in problems] == [("cannot-read", "rules/book.yaml")]

    def test_no_folder(self, tmp_path: Path) -> None:
        """A folder that is not there is said to be not there."""
        with pytest.raises(BadInput, match=r"there is no folder .*nowhere"):
            load_folder(tmp_path / "nowhere")

    def test_byte_order_mark_and_windows_line_ends(self, tmp_path: Path) -> None:
        """What a Windows editor adds does no harm, and lines are counted alike."""
        rules = lamp_book(tmp_path, areas__more=b"\xef\xbb\xbf" + AREA.replace("\n", "\r\n").encode())
        assert problems_of(rules) == []
