"""One way to show each part: the same words at a terminal and in Markdown, and in the language of the trade."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Gap, Heading, Numbered, item, line
from diagnose.documents.document import caution_document, step_document
from diagnose.documents.markdown import markdown, to_markdown
from diagnose.documents.text import make_console, write
from diagnose.documents.weights import WEIGHTS, weight
from diagnose.observations import State
from diagnose.reasoning.diagnosis import diagnose
from tests.documents.invented import BOOK, CAUTION, ENGINE, REPORT, cause, document_of, printed, reason, written

FIGURES_OF_THE_METHOD = re.compile(r"deciban|\bdB\b|\bbits?\b|BM25|Good 1950|Robertson", re.IGNORECASE)


class TestRanking:
    """Causes with bars."""

    CAUSES = (cause("fuse", 0.69), cause("surge", 0.25), cause("leak", 0.004))

    def test_per_cent_bar_title_and_movement(self) -> None:
        """What moved by less than one in a hundred did not move."""
        assert written(parts.ranking(self.CAUSES, moved={"fuse": 0.12, "surge": -0.05, "leak": 0.004})) == [
            " 69 % ████████····  Fuse is broken  up 12",
            " 25 % ███·········  Surge is broken  down 5",
        ]

    def test_how_many(self) -> None:
        """At most so many, none below the least, but never nothing."""
        assert len(written(parts.ranking(self.CAUSES, most=1))) == 1
        assert len(written(parts.ranking(self.CAUSES, least=0.001))) == 3
        assert written(parts.ranking(self.CAUSES[2:])) == [" <1 % ············  Leak is broken"]

    def test_markdown_has_the_figure_for_the_bar(self) -> None:
        """A list with the same words."""
        blocks = parts.ranking(self.CAUSES, area=True, least=0.5)
        assert to_markdown(blocks) == "1. **69 %** **Fuse is broken** — \\[Feed; failure\\]\n"

    def test_a_terminal_that_knows_ascii_only(self) -> None:
        """Draws its bars with other letters."""
        raw = io.BytesIO()
        console = make_console(file=io.TextIOWrapper(raw, encoding="ascii", write_through=True), width=80)
        write(console, parts.ranking(self.CAUSES, most=1))
        assert raw.getvalue() == b" 69 % ########....  Fuse is broken\n"


class TestReasons:
    """Why, as somebody would say it."""

    TOLD = cause(
        "fuse", 0.7, reason("display is dark", 18), reason("since a storm", 7), reason("others fail", -2, False)
    )

    def test_in_short(self) -> None:
        """One line for and one against, each reason with how strongly it speaks."""
        assert written(parts.reasons(self.TOLD)) == [
            "for: display is dark (strongly); since a storm (clearly)",
            "against: others fail: no (a little)",
        ]

    def test_in_full(self) -> None:
        """Each with where it comes from and its source; the words of a report have no source in the trade."""
        assert written(parts.reasons_in_full(self.TOLD))[0] == (
            "    strongly for  display is dark: “so it was said” [a book]"
        )
        words = cause("fuse", 0.7, reason("words in the report that fit: bang", 12, finding=None))
        assert written(parts.reasons_in_full(words)) == ["    strongly for  words in the report that fit: bang"]

    @given(st.floats(-200, 200), st.floats(-200, 200))
    def test_what_weighs_more_is_never_told_more_weakly(self, one: float, other: float) -> None:
        """Words follow the figures, whichever way they point."""
        words = [word for _, word in WEIGHTS]
        lighter, heavier = sorted((one, other), key=abs)
        assert words.index(weight(heavier)) <= words.index(weight(lighter))
        assert weight(one) == weight(-one)


class TestCaution:
    """Hazard, consequence, how to avoid it; one line where it was read before."""

    def test_in_full(self) -> None:
        """All of it."""
        assert written(parts.caution(CAUTION)) == [
            "   DANGER  Electric shock. Live parts.", "    Death.", "    • Isolate.", "    • Prove dead."
        ]  # fmt: skip
        assert to_markdown(parts.caution(CAUTION)) == (
            "- **DANGER** Electric shock. Live parts.\n  - Death.\n  - Isolate.\n  - Prove dead.\n"
        )

    def test_in_short(self) -> None:
        """Signal word, title, on what it hangs, and what to do in a few words."""
        hanging = replace(CAUTION, condition="unless supply voltage: not mains", short="prove dead")
        assert written(parts.caution_in_short(replace(CAUTION, short=""))) == ["   DANGER  Electric shock"]
        assert written(parts.caution_in_short(hanging), width=200) == [
            "   DANGER  Electric shock (unless supply voltage: not mains): prove dead"
        ]


class TestStep:
    """What a step is, why, what it takes, what to change first, and how."""

    STEP = step_document(BOOK, diagnose(ENGINE, {}, (), State(competence="skilled")).proposals.next)

    def test_in_full(self) -> None:
        """In this order."""
        blocks = parts.step(replace(self.STEP, tools=("ladder",), parts=("bulb",), saves_minutes=27.4))
        shown = written(blocks, width=200)
        assert shown[0].startswith(f"  Remedy: {self.STEP.title}")
        assert shown[1].endswith("; expected to save about 27 min")
        assert re.fullmatch(r"  takes about \d+ min; for an? \w+ person; tools: ladder; parts: bulb", shown[2])
        assert shown[3].startswith("  first: ")
        assert shown[4:] == [f"  {number}. {each}" for number, each in enumerate(self.STEP.steps, 1)]
        assert parts.proposed(self.STEP) + parts.steps(self.STEP) == parts.step(self.STEP)

    def test_what_anyone_can_do(self) -> None:
        """Needs nobody in particular."""
        assert "for an ordinary person" in "\n".join(written(parts.proposed(replace(self.STEP, competence="ordinary"))))

    def test_being_done_takes_nothing(self) -> None:
        """No minutes, tools or steps."""
        done = replace(self.STEP, kind="done", minutes=0.0, changes=(), tools=(), parts=(), steps=())
        assert len(written(parts.step(done), width=200)) == 2


class TestFindings:
    """What is there and what is not."""

    def test_present_line_by_line_and_what_is_absent_together(self) -> None:
        """What is present has its reason behind it; absent findings fill one paragraph and push nothing away."""
        told = [("reads high", True, "zero 2 m3/h"), ("swings", False, ""), ("stays at zero", False, "")]
        assert written(parts.findings(told)) == ["  +  reads high  (zero 2 m3/h)", "  -  not: swings; stays at zero"]
        assert to_markdown(parts.findings(told)) == ("- reads high — \\(zero 2 m3/h\\)\n- not: swings; stays at zero\n")

    def test_what_was_understood_has_its_words(self) -> None:
        """A finding, and a figure with its unit."""
        shown = written(parts.statements(document_of("No light. The voltage is 2 V.").understood))
        assert shown[0].startswith("  +  lamp is dark  “No light")
        assert re.fullmatch(r"  =  .+: 2 V  “.*2 V.*”", shown[1])


class TestWriting:
    """Two writers, one set of words."""

    BLOCKS: tuple[Block, ...] = (
        Heading("Head"),
        line("a paragraph"),
        Gap(),
        Bullets((item("one", below=(line("below", indent=0), Numbered((item("first"),), indent=0))), item("two"))),
    )

    def test_markdown(self) -> None:
        """Lists stay lists, what is below an entry is an entry of its own."""
        assert to_markdown(self.BLOCKS) == "## Head\n\na paragraph\n\n- one\n  - below\n  1. first\n- two\n"

    def test_terminal(self) -> None:
        """The same, set in by their depth."""
        assert written(list(self.BLOCKS)) == [
            "", "Head", "  a paragraph", "", "  • one", "    below", "    1. first", "  • two"
        ]  # fmt: skip

    @given(
        st.text(st.characters(codec="ascii", exclude_categories=["C"]), min_size=1).filter(lambda text: text.strip())
    )
    def test_no_text_becomes_markup(self, text: str) -> None:
        """At the beginning of an entry, too: nothing special is left without a backslash before it."""
        shown = to_markdown([Bullets((item(text),))]).removeprefix("- ").removesuffix("\n")
        assert not re.search(r"(?<!\\)[*_`\[\]<>#!|~]", shown.replace("\\\\", ""))
        assert not re.match(r"[-+]|\d+[.)]", shown)

    @pytest.mark.parametrize("report", [REPORT, "No light.", "Greetings.", "No light. Not lamp dark."])
    def test_both_say_the_same_words(self, report: str) -> None:
        """Bars, marks and backslashes apart."""

        def words(text: str) -> list[str]:
            return re.findall(r"[A-Za-z]+|\d+ %", text.replace("\\", ""))

        document = document_of(report)
        assert words(markdown(document))[1:] == words(printed(document, width=500))

    def test_no_figure_of_the_method_is_on_a_screen(self) -> None:
        """Weights are told in words; formulas stay in the JSON."""
        document = document_of("No light. The voltage is 2 V.", {"nominal-voltage": 230.0})
        assert any(each.decibans for cause in document.causes for each in cause.supporting)
        for shown in (printed(document, width=500), markdown(document)):
            assert not FIGURES_OF_THE_METHOD.search(shown)


def test_a_caution_that_hangs_on_the_data_sheet_says_on_what() -> None:
    """Its unknown fields and their words."""
    (name,) = [name for name, each in BOOK.cautions.items() if each.comes_up]
    told = caution_document(BOOK, BOOK.cautions[name], ())
    assert told.condition == ""
