"""The report of a case: what stands in it, and that it can be filed, printed and read by everybody."""

from __future__ import annotations

import json
from itertools import pairwise

import jsonschema
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from diagnose.cases.events import Attached, Closed, FaultRemains, Note, RemedyDone, StepMeasured, TextRead, Undo
from diagnose.documents.case_report_blocks import case_report_blocks, case_report_markdown
from diagnose.documents.case_report_page import title_of
from diagnose.documents.case_report_picture import ranking_picture
from diagnose.documents.case_report_types import CaseReportDocument, EntryDocument
from diagnose.documents.typed import as_json, schema_of
from diagnose.observations import CheckDone, Compared, FindingSeen, Measurement
from diagnose.place import visible
from tests.cases.any_events import SHEET, TURNS, after_turns
from tests.documents.case_files import CLOSED, PICTURE, case_of, kept, page_of, report_of, whole_case
from tests.documents.invented import ENGINE, written
from tests.documents.pages import faults, parsed, text_of
from tests.engines import real_engine

ANY_TEXT = st.text(min_size=1, max_size=60) | st.sampled_from(
    [
        "<script>alert(1)</script>",
        "</td></table><img src=x onerror=alert(1)>",
        "{{ 7 * 7 }}{% raw %}",
        "\x1b]0;title\x07\x1b[2J",
        "\u202egnp.exe",
        "&lt;b&gt; &amp; ]]> <!-- \x00",
        "' onmouseover='x",
        "[red]x[/red] **x** | x",
    ]
)
DRAWN = (Phase.explicit, Phase.reuse, Phase.generate)
"""Made smaller, a case that fails would be tried for minutes; as drawn it is small enough to read."""

DARK = FindingSeen(finding="dark", present=True)
METER = FindingSeen(finding="zero-while-flowing", present=True)


def entry(report: CaseReportDocument, title: str) -> EntryDocument:
    """Return the one entry of the timeline with this title."""
    (found,) = (each for each in report.timeline if each.title == title)
    return found


class TestWhatStandsInIt:
    """From the first word to how it stands."""

    def test_a_step_stands_with_its_time_and_with_what_is_found_where_all_is_well(self) -> None:
        """And with what its answer means."""
        looked = entry(report_of(whole_case()), "Look at the bulb")
        assert (looked.at[11:16], looked.result, looked.expected) == ("10:30", "black", "clear")
        assert (looked.means, looked.wrong) == (("its wire has burnt through",), True)

    def test_a_reading_stands_beside_what_was_worked_out_for_it(self) -> None:
        """12 mA at half of the range, and what the rules say of 3.6 mA."""
        told = [Measurement(quantity=name, value=value) for name, value in HALF.items()]
        taken = (*told[-2:], StepMeasured(step="loop-current"))
        report = report_of(case_of(METER, tuple(told[:-2]), taken), real_engine())
        readings = {each.quantity: each for each in report.timeline[-1].readings}
        assert readings["loop-current"].shown == "3.6 mA"
        assert readings["loop-current"].expected.startswith("12 mA ± ")
        assert readings["loop-current"].verdicts

    @pytest.mark.parametrize(
        ("quantity", "value", "expected", "wrong"),
        [
            ("earth-continuity", 3.0, "below 0.5 ohm", True),
            ("earth-continuity", 0.2, "below 0.5 ohm", False),
            ("coil-insulation", 3e5, "at least 20 Mohm", True),
            ("bus-common-voltage", 2.0, "-7 V to 12 V", False),
        ],
    )
    def test_a_reading_stands_beside_the_limits_of_the_rules(
        self, quantity: str, value: float, expected: str, wrong: bool
    ) -> None:
        """Where nothing is worked out."""
        book = real_engine().rule_book
        step = next(each.id for each in book.checks.values() if each.measures == quantity)
        taken = (Measurement(quantity=quantity, value=value), StepMeasured(step=step))
        (reading,) = report_of(case_of(METER, taken), real_engine()).timeline[-1].readings
        assert (reading.expected, reading.wrong) == (expected, wrong)

    def test_an_answer_that_was_taken_back_stands_there_and_does_not_count(self) -> None:
        """Whoever reads it sees that it was taken back."""
        black = CheckDone(check="look-at-bulb", answer="black")
        report = report_of(case_of(DARK, black, Undo(turn=2)))
        assert entry(report, "Look at the bulb").taken_back
        assert len(report.ranking.after) == 1
        assert "(taken back)" in text_of(parsed(page_of(report)))

    def test_what_was_disturbed_stands_with_when_it_was_put_back(self) -> None:
        """Or that it was not."""
        report = report_of(whole_case())
        (bulb,) = report.disturbed
        assert (bulb.at[11:16], bulb.restored[11:16], bulb.by_step) == ("10:30", "10:35", "Look at the bulb")
        left = replace(whole_case(), entries=tuple(each for each in whole_case().entries if each.turn != 7))
        assert report_of(left).disturbed[0].restored == ""
        assert "not put back" in text_of(parsed(page_of(report_of(left))))

    def test_isolation_and_cautions_stand_with_time_and_who_answered(self) -> None:
        """By what they may do, for more is not known of them."""
        report = report_of(whole_case())
        assert [(each.title, each.before, each.to, each.by) for each in report.plant] == [
            ("Plug", "in", "out", "a skilled person"),
            ("Plug", "out", "in", "a skilled person"),
        ]
        (read,) = report.cautions
        assert (read.at[11:16], read.signal, read.before, read.by) == (
            "10:25",
            "danger",
            "Measure the socket",
            "a skilled person",
        )

    def test_what_was_cured_is_the_likeliest_of_what_the_remedy_helps(self) -> None:
        """With its follow-up; nothing is open any more."""
        report = report_of(whole_case())
        assert report.cured == ("Bulb burnt through",)
        assert report.follow_up == ("Keep a spare bulb.",)
        assert [(each.remedy, each.verdict) for each in report.remedies] == [("Change the bulb", "cured")]
        assert "Still possible" not in text_of(parsed(page_of(report)))

    def test_after_a_cure_what_is_still_wrong_remains(self) -> None:
        """First that something is, then what was told of it, what it may be, and the next step."""
        cured = whole_case()
        remains = cured.after(FaultRemains())
        told = remains.after(FindingSeen(finding="flickers", present=True))
        pages = [" ".join(text_of(parsed(page_of(report_of(each)))).split()) for each in (cured, remains, told)]
        assert ["What remains" in each for each in pages] == [False, True, True]
        assert ["nobody has said what" in each for each in pages] == [False, True, False]
        assert ["Still possible Loose contact" in each for each in pages] == [False, False, True]
        assert "Bulb burnt through. Something else is still wrong" in pages[2]
        over = told.after(CLOSED)
        assert "Still possible" not in text_of(parsed(page_of(report_of(over))))
        blocks = case_report_markdown(report_of(told))
        assert "Still possible: Loose contact" in blocks.replace("\\", "")

    def test_a_remedy_that_was_done_waits_for_its_proof(self) -> None:
        """And is not the next step once more."""
        report = report_of(case_of(DARK, RemedyDone(remedy="bulb-burnt")))
        text = " ".join(text_of(parsed(page_of(report))).split())
        assert "Done but not proved Change the bulb; proof: Switch it on" in text
        assert "Next step" not in text
        assert "Done but not proved: Change the bulb; proof: Switch it on" in case_report_markdown(report)

    def test_a_closed_case_says_with_what(self) -> None:
        """Remedy, proof, minutes, parts, and where the cause stood."""
        report = report_of(whole_case(closed=CLOSED))
        assert report.state == "closed"
        assert report.closed is not None
        text = text_of(parsed(page_of(report)))
        for each in ("Bulb burnt through", "Change the bulb", "Switch it on", "it shines", "12.5", "2 (31 %)"):
            assert each in text

    def test_what_was_likely_once_stands_with_what_speaks_against_it(self) -> None:
        """No power in the house, once the socket had its voltage."""
        bright = CheckDone(check="look-at-bulb", answer="black")
        others = FindingSeen(finding="others-dark", present=False)
        voltage = FindingSeen(finding="voltage-missing", present=False)
        (out,) = report_of(case_of(DARK, bright, (others, voltage))).ruled_out
        assert (out.id, out.once > 0.2, out.now < 0.01) == ("no-power", True, True)
        assert "no voltage at the socket: no" in out.by

    def test_an_open_case_says_what_is_possible_and_what_comes_next(self) -> None:
        """With what it takes."""
        text = " ".join(text_of(parsed(page_of(report_of(case_of(DARK))))).split())
        assert "not proved yet; likeliest: Bulb burnt through (76 %)" in text
        assert "Still possible Bulb burnt through (76 %)" in text
        assert "Next step" in text

    def test_readings_that_were_compared_stand_with_what_they_look_like(self) -> None:
        """The figures, and how probable each mechanism is."""
        compared = Compared(
            with_what="reference",
            between=("reference",),
            decibans={"receiver-span": 0.0, "bore-wrong": -1.0},
            quote="comparison of 4 pairs: zero +0.03 m3/h, gain 0.855",
        )
        known = {name: 0.0 for name in list(real_engine().rule_book.mechanisms)[:2]}
        report = report_of(case_of(METER, replace(compared, decibans=known)), real_engine())
        (told,) = report.compared
        assert told.figures == compared.quote
        assert "comparison of 4 pairs" in text_of(parsed(page_of(report)))

    def test_the_picture_tells_its_lines_apart_without_colour(self) -> None:
        """Each has a dash, a mark and a letter of its own, and its words say the same."""
        report = report_of(case_of(DARK, CheckDone(check="look-at-bulb", answer="black")))
        picture = ranking_picture(report.ranking)
        assert picture is not None
        looks = [(each.dash, each.mark, each.letter) for each in picture.lines]
        assert len({each[:2] for each in looks}) == len({each[2] for each in looks}) == len(looks) >= 3
        assert "A, Bulb burnt through, from 76 % to" in picture.text
        heights = sorted(each.letter_y for each in picture.lines)
        assert all(other - one >= 14 for one, other in pairwise(heights))

    def test_a_case_of_which_nothing_is_known_has_a_report(self) -> None:
        """Whoever files it sees that there was nothing."""
        assert faults(page_of(report_of(case_of()))) == []

    def test_the_json_keeps_to_its_schema(self) -> None:
        """As every document does."""
        report = report_of(whole_case(closed=CLOSED), files=(kept(picture="image/png"),))
        schema = schema_of(CaseReportDocument, "Report of a case")
        jsonschema.validate(json.loads(as_json(report)), schema)


HALF = {
    "lower-range-value": 0.0,
    "upper-range-value": 100 / 3600,
    "displayed-flow": 50 / 3600,
    "loop-current": 0.0036,
}


class TestWhoeverReadsIt:
    """A planner on paper, a browser without a network, a screen reader, a terminal."""

    def test_the_page_needs_nothing_and_is_in_order(self) -> None:
        """Valid, headings in order, words for every picture, scopes in tables, nothing loaded or run."""
        other = Attached(name="log.csv", sha256="b" * 64, size=2_000_000)
        files = (kept(picture="image/png"), kept(other, kept="changed"))
        page = page_of(report_of(whole_case(closed=CLOSED), files=files))
        assert faults(page) == []
        assert page.count("<img ") == 1
        assert "size: A4" in page

    @given(text=ANY_TEXT)
    @settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], phases=DRAWN)
    def test_whatever_was_said_comes_out_as_text(self, text: str) -> None:
        """In complaint, note, names, closing words and attachments: as it was typed, and never as anything else."""
        named = replace(PICTURE, name=text, note=text, by=text)
        report = report_of(whole_case(text, CLOSED), files=(kept(named, picture="image/png"), kept(named)))
        page = page_of(report)
        assert faults(page) == []
        shown = visible(text, "\t\n")
        assert f"“{shown}”" in text_of(parsed(page))
        assert not [each for each in page if each != "\n" and visible(each, "\t") != each]

    @given(text=ANY_TEXT)
    @settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], phases=DRAWN)
    def test_no_markup_and_no_escape_comes_through_text_and_markdown(self, text: str) -> None:
        """A terminal is not written to but with letters, and Markdown has no link, picture or tag of theirs."""
        report = report_of(whole_case(text, CLOSED))
        blocks = case_report_blocks(report)
        for line in (*written(blocks, 100), *case_report_markdown(report).splitlines()):
            assert visible(line, "\t") == line
        plain = case_report_markdown(report_of(whole_case("x", CLOSED)))
        made = case_report_markdown(report)
        for mark in ("<", "](", "!["):
            assert made.replace(f"\\{mark[0]}", "").count(mark) == plain.replace(f"\\{mark[0]}", "").count(mark)

    @given(turns=TURNS)
    @settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], phases=DRAWN)
    def test_every_case_has_a_report(self, turns: list[object]) -> None:
        """Also one of events that no interview brings together, in each form."""
        case = replace(after_turns(turns), data_sheet=SHEET)  # type: ignore[arg-type]
        report = report_of(case, ENGINE)
        assert faults(page_of(report)) == []
        assert written(case_report_blocks(report))
        assert [each.number for each in report.timeline] == list(range(1, len(report.timeline) + 1))

    def test_a_long_complaint_stands_in_full_once(self) -> None:
        """In the timeline only its beginning."""
        told = "It is dark. " * 60
        report = report_of(case_of((TextRead(text=told), DARK), Note(text="x")))
        assert text_of(parsed(page_of(report))).count(told.strip()) == 1
        assert title_of(report) == "Fault report of a flow meter"

    def test_a_case_closed_without_a_cause_does_not_claim_one(self) -> None:
        """Not even the likeliest."""
        text = text_of(parsed(page_of(report_of(case_of(DARK, Closed(outcome="not found"))))))
        assert "no cause was found" in text
