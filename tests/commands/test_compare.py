"""``diagnose compare`` as people call it: pairs in, a screen, a document, a picture or observations of a case out."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pytest

from diagnose.cases.events import Attached
from diagnose.cases.journal import Journal
from diagnose.documents.comparison_record import comparison_record
from diagnose.documents.comparison_types import ComparisonDocument
from diagnose.observations import Compared, FindingSeen
from tests.commands.running import LAMP, Call, document, run
from tests.comparison.comparisons import WORKED_INDICATED, WORKED_REFERENCE

WORKED = "; ".join(f"{a:.3f} {b:.3f}" for a, b in zip(WORKED_REFERENCE, WORKED_INDICATED, strict=True)) + " m3/h"
"""Fact sheet 8.12; with their decimals, since figures are as good as they are written."""

ROOT = ("--pairs", "10.0 31.9; 25.0 50.3; 50.0 70.4; 75.0 86.9; 95.0 97.3 m3/h", "--urv", "100m3/h")
"""A receiver that draws the root (invented)."""


class TestScreen:
    """What a technician reads."""

    def test_verdict_first_then_what_it_is_and_what_to_do(self) -> None:
        """The order of the screen is the order in which people ask."""
        done = run("compare", *ROOT)
        assert (done.status, done.err) == (0, "")
        lines = done.out.splitlines()
        assert lines[0].startswith(" DISAGREES ")
        heads = [
            "Mechanisms",
            "Causes behind them",
            "What to do",
            "Indicated",
            "Readings",
            "Line",
            "What the readings alone say",
            "What follows",
            "Assumed",
        ]
        at = [next(n for n, line in enumerate(lines) if line.startswith(head)) for head in heads]
        assert at == sorted(at)
        assert "receiver takes the square root of a linear signal" in done.out
        said = " ".join(done.out.split())
        assert "times as likely with “receiver takes the square root of a linear signal” as with" in said

    def test_the_worked_example(self, call: Call) -> None:
        """Zero, gain and their limits (8.12), the reading that separates, the origin to look for."""
        done = call("compare", "--pairs", WORKED, "--bore", "100mm", "--class", "2")
        assert "zero 0.206 (0.174 to 0.238) m3/h; gain 1.0201 (1.0192 to 1.0211)" in done.out
        assert "a zero error and a factor error at once" in done.out
        assert "repeat at no flow: expect" in done.out
        assert "(0.21 m3/h apart)" in " ".join(done.out.split())
        assert "measure the zero first" in done.out
        assert "outside" in done.out

    @pytest.mark.parametrize("changes", [{}, {"PYTHONUTF8": "0", "LC_ALL": "C", "PYTHONIOENCODING": "ascii"}])
    def test_eighty_columns_without_colour_in_a_pipe(self, changes: dict[str, str]) -> None:
        """No line is longer, and a terminal that knows ASCII only gets letters that it can show."""
        done = run("compare", *ROOT, "--limit", "1 %", **changes)
        assert max(map(len, done.out.splitlines())) <= 80
        if changes:
            marks = [line for line in done.out.splitlines() if "|" in line]
            assert any("o" in line for line in marks)
            assert not any("?" in line for line in marks)

    def test_many_pairs_stay_readable(self, tmp_path: Path, call: Call) -> None:
        """Of forty pairs the first and last are listed, and all are counted."""
        rows = "\n".join(f"{n};{1.02 * n}" for n in range(1, 41))
        (tmp_path / "many.csv").write_text(f"reference [m3/h];indicated [m3/h]\n{rows}\n", encoding="utf-8")
        done = call("compare", "many.csv")
        assert "and 28 more in between" in done.out
        assert len(done.out.splitlines()) < 120

    def test_however_pairs_come_in_the_answer_is_one(self, tmp_path: Path, call: Call) -> None:
        """A file, a pipe, typed."""
        table = "reference [m3/h],indicated [m3/h]\n10,12.1\n50,52.2\n90,91.8\n"
        (tmp_path / "a.csv").write_text(table, encoding="utf-8")
        of_file = call("compare", "a.csv")
        assert of_file.status == 0
        assert call("compare", "-", stdin=table).out == of_file.out
        assert call("compare", "--pairs", "10 12.1; 50 52.2; 90 91.8 m3/h").out == of_file.out

    def test_a_new_constant_needs_its_origin(self, call: Call) -> None:
        """A factor alone gives none; with the origin that a look has found, it comes with its uncertainty."""
        pairs = (
            "--pairs",
            "10.00 10.21; 25.00 25.48; 50.00 51.05; 75.00 76.40; 95.00 96.95 m3/h",
            "--flow-constant",
            "1.5",
        )
        assert "many faults give a factor" in call("compare", *pairs).out
        assert "1.5 × 0.98" in call("compare", *pairs, "--origin", "flow-constant").out


class TestDocument:
    """What other programs read."""

    def test_keys_and_order(self, call: Call) -> None:
        """Mechanisms most probable first, findings with their reason, the fit, the evidence."""
        found = document(call("compare", *ROOT, "--format", "json"))
        assert found["format"] == "comparison/3"
        probabilities = [each["probability"] for each in found["mechanisms"]]
        assert probabilities == sorted(probabilities, reverse=True)
        assert sum(probabilities) == pytest.approx(1, abs=1e-4)
        assert found["mechanisms"][0]["id"] == "square-root"
        assert all({"id", "title", "probability", "parameters"} <= each.keys() for each in found["mechanisms"])
        assert found["causes"][0]["id"] == "square-root-left-on"
        told = {each["id"]: each for each in found["findings"]}
        assert told["control-system-disagrees"]["present"] is True
        assert all(each["because"] for each in told.values())
        assert found["warnings"] == []

    def test_the_fit_and_the_parameters(self, call: Call) -> None:
        """8.12 again, as figures; a zero in flow and as a velocity."""
        found = document(call("compare", "--pairs", WORKED, "--bore", "100mm", "--format", "json"))
        assert found["fit"]["zero"]["value"] == pytest.approx(0.206106, abs=5e-7)
        assert found["fit"]["gain"]["standard_error"] == pytest.approx(0.000299, abs=5e-7)
        assert found["fit"]["residual_deviation"] == pytest.approx(0.013623, abs=5e-7)
        first = found["mechanisms"][0]
        assert first["id"] == "zero-and-factor"
        zero, velocity = (first["parameters"][name] for name in ("zero", "zero as a velocity"))
        assert zero["low"] < 0.206 < zero["high"]
        # 1.2: v [m/s] = 353.6777 Q [m³/h] / D² [mm²]
        assert velocity["value"] == pytest.approx(353.6777 * zero["value"] / 100**2 * 1000, rel=1e-4)
        assert (velocity["unit"], zero["unit"]) == ("mm/s", "m3/h")

    def test_evidence_does_not_hang_on_the_unit(self, call: Call) -> None:
        """Probabilities and Bayes factor are the same in litres per second as in cubic metres per hour."""
        hours = document(
            call("compare", "--pairs", "36.0000 37.0000; 72.0000 75.0000; 144.0000 148.0000 m3/h", "--format", "json")
        )
        seconds = document(
            call(
                "compare",
                "--pairs",
                "10.000000 10.277778; 20.000000 20.833333; 40.000000 41.111111 l/s",
                "--format",
                "json",
            )
        )
        assert hours["evidence"]["bayes_factor"] == pytest.approx(seconds["evidence"]["bayes_factor"], rel=1e-3)
        by_id = {each["id"]: each["probability"] for each in seconds["mechanisms"]}
        for each in hours["mechanisms"]:
            # the label's unit makes mix-ups with it likelier, which moves others a little
            assert by_id[each["id"]] == pytest.approx(each["probability"], abs=2e-3)


FOUND_AND_LEFT = "reference [m3/h];as found [m3/h];as left [m3/h]\n10,0;10,4;10,0\n50,0;51,9;50,1\n90,0;93,4;90,1\n"
"""Before and after an adjustment (invented)."""


class TestForms:
    """Tables with more in them than one pair of columns."""

    def test_as_found_and_as_left_are_told_one_after_the_other(self, call: Call) -> None:
        """Each under its name; a document or a case takes one of them."""
        done = call("compare", "-", stdin=FOUND_AND_LEFT)
        assert (done.status, done.err) == (0, "")
        found, left = done.out.split("AS LEFT")
        assert found.startswith("AS FOUND\n\n DISAGREES")
        assert left.lstrip().startswith("AGREES")
        refused = call("compare", "-", "--format", "json", stdin=FOUND_AND_LEFT)
        assert refused.status == 2
        assert "`as found` and `as left`; take one with --part" in refused.err
        one = document(call("compare", "-", "--format", "json", "--part", "as left", stdin=FOUND_AND_LEFT))
        assert one["verdict"] == "agrees"

    def test_which_tag_is_the_reference_is_said_and_for_a_case_asked(self, tmp_path: Path, call: Call) -> None:
        """A case draws findings from it, so nothing is guessed there."""
        tags = "FT-101 [m3/h];FT-102 [m3/h]\n10,0;10,4\n50,0;51,9\n90,0;93,4\n"
        assert "neither heading says which is the reference" in " ".join(call("compare", "-", stdin=tags).out.split())
        Journal.start(tmp_path, {}, "tank").close()
        done = call("compare", "-", "--case", "tank", stdin=tags)
        assert (done.status, done.out) == (1, "")
        assert "neither `FT-101 [m3/h]` nor `FT-102 [m3/h]` says which of them is the reference" in done.err

    def test_a_weighed_volume_needs_a_density(self, call: Call) -> None:
        """Asked for, and taken from an option."""
        table = "weighbridge [kg];meter [m3];duration [min]\n1000;1,02;2\n2000;2,03;2\n3000;3,06;2\n"
        assert "--density" in call("compare", "-", stdin=table).err
        assert "998 kg/m3" in call("compare", "-", "--density", "998kg/m3", stdin=table).out


class TestPicture:
    """PNG and SVG for reports."""

    def test_png_and_svg(self, tmp_path: Path, call: Call) -> None:
        """Both are pictures; the SVG names axes, line and the leading mechanism in its text."""
        for name in ("a.png", "a.svg"):
            done = call("compare", *ROOT, "--limit", "1 %", "--plot", name)
            assert (done.status, done.err) == (0, "")
        assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")
        assert ET.parse(tmp_path / "a.svg").getroot().tag.endswith("svg")
        drawn = (tmp_path / "a.svg").read_text(encoding="utf-8")
        for words in ("permissible error", "fitted line", "receiver takes the square root", "deviation [%]"):
            assert words in drawn

    @pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
    def test_a_picture_on_a_full_disk(self, call: Call, tmp_path: Path, kind: str) -> None:
        """Told as any file that cannot be written, whatever goes wrong inside the library that draws."""
        (tmp_path / f"a.{kind}").symlink_to("/dev/full")
        done = call("compare", *ROOT, "--plot", f"a.{kind}")
        assert (done.status, done.out) == (1, "")
        assert done.err == f"error: the picture a.{kind} cannot be written: No space left on device\n"

    def test_without_the_library_it_says_how_to_get_it(self, tmp_path: Path) -> None:
        """matplotlib is an extra; the screen shows a picture without it."""
        (tmp_path / "matplotlib.py").write_text("raise ImportError\n", encoding="utf-8")
        done = run("compare", *ROOT, "--plot", "a.png", cwd=tmp_path, PYTHONPATH=str(tmp_path))
        assert done.status == 1
        assert "pip install 'diagnose[plots]'" in done.err
        assert run("compare", *ROOT, cwd=tmp_path, PYTHONPATH=str(tmp_path)).status == 0

    def test_pictures_that_cannot_be(self, tmp_path: Path, call: Call) -> None:
        """Another kind of file, a folder that is not there."""
        assert call("compare", *ROOT, "--plot", "a.gif").status == 2
        done = call("compare", *ROOT, "--plot", "nowhere/a.png")
        assert done.status == 1
        assert "cannot be written" in done.err


class TestRecord:
    """What a planner files."""

    LIMITED = (*ROOT[:2], "--urv", "100m3/h", "--limit", "2 %", "--reference-uncertainty", "0.5 %")
    BOTH = (*LIMITED, "--indicated-uncertainty", "0.3 %")

    def test_as_markdown(self, tmp_path: Path, call: Call) -> None:
        """Readings, decision, uncertainties, method; a table of as many columns as its head."""
        assert call("compare", *self.BOTH, "--record", "a.md").status == 0
        made = (tmp_path / "a.md").read_text(encoding="utf-8")
        for words in ("## Decision", "**They disagree.**", "guard bands", "E_n", "square root"):
            assert words in made
        rows = [line for line in made.splitlines() if line.startswith("| ") and "outside" in line]
        head = next(line for line in made.splitlines() if "reference" in line and line.startswith("|"))
        assert rows
        assert {row.count("|") for row in rows} == {head.count("|")}

    def test_as_html_with_its_picture(self, tmp_path: Path, call: Call) -> None:
        """One file that any browser shows, with nothing to load from elsewhere."""
        assert call("compare", *self.BOTH, "--record", "a.html").status == 0
        made = (tmp_path / "a.html").read_text(encoding="utf-8")
        assert made.startswith("<!doctype html>")
        assert "<svg" in made
        assert "They disagree." in made
        assert not re.search(r"(src|href)=\"http", made)

    @pytest.mark.parametrize("name", ["a.html", "a.md"])
    def test_without_the_library_that_draws(self, tmp_path: Path, name: str) -> None:
        """The picture is made of letters then, and everything else is there."""
        (tmp_path / "matplotlib.py").write_text("raise ImportError\n", encoding="utf-8")
        done = run("compare", *self.BOTH, "--record", name, cwd=tmp_path, PYTHONPATH=str(tmp_path))
        assert done.status == 0
        made = (tmp_path / name).read_text(encoding="utf-8")
        assert "They disagree" in made
        assert "reference [" in made
        assert "<svg" not in made

    @pytest.mark.parametrize("name", ["a.html", "a.md"])
    def test_as_found_and_as_left_in_one_record(self, tmp_path: Path, call: Call, name: str) -> None:
        """Each with its decision, its readings and its picture, under one head."""
        (tmp_path / "both.csv").write_text(
            "reference [m3/h];as found [m3/h];as left [m3/h]\n10,0;10,9;10,0\n20,0;21,8;20,1\n40,0;43,6;40,1\n",
            encoding="utf-8",
        )
        assert call("compare", "both.csv", "--record", name).status == 0
        made = (tmp_path / name).read_text(encoding="utf-8")
        assert [made.count(word) for word in ("Record made", "As found", "As left", "Decision")] == [1, 1, 1, 2]
        assert made.count("<svg" if name.endswith("html") else "```text") == 2

    @pytest.mark.parametrize(("kind", "shown"), [(".html", "&lt;b&gt;x"), (".md", "\\<b\\>x")])
    def test_markup_in_a_text_stays_text(self, call: Call, kind: str, shown: str) -> None:
        """What comes from elsewhere is no markup in the record."""
        told = document(call("compare", *ROOT, "--format", "json"))
        found = msgspec.convert({**told, "warnings": ["<b>x</b>"]}, ComparisonDocument)
        made = comparison_record([found], kind, datetime(2026, 1, 2, tzinfo=UTC))
        assert shown in made
        assert "<b>x" not in made

    def test_what_cannot_be(self, tmp_path: Path, call: Call) -> None:
        """Another kind of file, a folder that is not there; what stood there stays."""
        assert call("compare", *ROOT, "--record", "a.docx").status == 2
        done = call("compare", *ROOT, "--record", "nowhere/a.md")
        assert done.status == 1
        assert "cannot be written" in done.err
        assert not list(tmp_path.glob(".*.part"))


class TestCase:
    """A comparison as part of an interview that was left."""

    def test_findings_go_into_the_case_with_their_figures(self, tmp_path: Path, call: Call) -> None:
        """One turn, each finding with the figures as its words."""
        Journal.start(tmp_path, {}, "tank").close()
        done = call("compare", "--pairs", WORKED, "--case", "tank")
        assert done.status == 0
        with Journal.resume(tmp_path, "tank") as journal:
            events = [entry.event for entry in journal.entries]
            turns = {entry.turn for entry in journal.entries}
        found = [each for each in events if isinstance(each, FindingSeen)]
        assert f"{len(found)} findings added to the case tank" in done.err
        assert [each.figures for each in events if isinstance(each, Attached)] == ["pairs"]
        assert [each.with_what for each in events if isinstance(each, Compared)] == ["reference"]
        assert len(turns) == 1
        said = "comparison of 5 pairs: zero +0.21 m3/h, gain 1.020"
        assert FindingSeen(finding="reads-high", present=True, quote=said) in events

    def test_a_case_that_is_not_there(self, tmp_path: Path, call: Call) -> None:
        """It is said, and which there are."""
        done = call("compare", "--pairs", WORKED, "--case", "tank")
        assert done.status == 1
        assert "there is no case" in done.err


WRONG_USE = {
    "nothing": (),
    "both": ("a.csv", "--pairs", "1 1 m3/h"),
    "half of the zones": (*ROOT, "--class", "2", "--q3", "100m3/h"),
    "a range without width": (*ROOT[:2], "--urv", "0m3/h"),
    "display against itself": (*ROOT, "--read-at", "display", "--against", "display"),
    "an origin nobody knows": (*ROOT, "--origin", "flow-constnat"),
    "a class that is none": (*ROOT, "--class", "3"),
}


@pytest.mark.parametrize("arguments", WRONG_USE.values(), ids=WRONG_USE.keys())
def test_wrong_use(arguments: tuple[str, ...], call: Call) -> None:
    """What cannot be meant is told, with exit status 2."""
    done = call("compare", *arguments)
    assert done.status == 2
    assert done.out == ""
    assert done.err.lower().startswith(("error", "usage"))


def test_a_misspelt_origin_is_met_halfway(call: Call) -> None:
    """The nearest mechanism is named."""
    assert "flow-constant" in call("compare", *ROOT, "--origin", "flow-constnat").err


BAD_INPUT = {
    "empty": b"",
    "binary": bytes(range(256)),
    "no unit": b"reference;indicated\n10;10,5\n",
    "text": b"reference [m3/h];indicated [m3/h]\n10;about 10\n",
    "a line without end": b"reference [m3/h];indicated [m3/h]\n" + b"1" * 1_000_000 + b"\n",
    "thousands or decimals": b"reference [m3/h];indicated [m3/h]\n1.000;1.010\n",
}


@pytest.mark.parametrize("data", BAD_INPUT.values(), ids=BAD_INPUT.keys())
def test_bad_input(data: bytes, tmp_path: Path, call: Call) -> None:
    """What cannot be read is refused in a few lines, with exit status 1."""
    (tmp_path / "a.csv").write_bytes(data)
    done = call("compare", "a.csv")
    assert (done.status, done.out) == (1, "")
    assert done.err.startswith("error")
    assert len(done.err) < 600


SAYS = {
    "two points": ("10 10.5; 50 51.2 m3/h", "a line fits any two points"),
    "one point": ("10 10.5 m3/h", "one pair cannot tell a zero error from a factor"),
    "one flow": ("10 10.5; 10 10.6; 10 10.4 m3/h", "pairs at a single flow"),
    "zero reference": ("0 0.31; 0 0.29 m3/h", "all readings are at no flow"),
    "nothing at all": ("0 0; 0 0 m3/h", "all readings are at no flow"),
    "constant": ("10 33; 20 33; 30 33 m3/h", "does not follow"),
    "negative": ("10 -10.1; 20 -20.1; 30 -29.9 m3/h", "right amount, wrong sign"),
    "copies": ("10 10.1; 10 10.1; 20 20.1 m3/h", "repeated pair"),
    "zero among others": ("0 0.31; 20 20.29; 40 40.33 m3/h", "shows a flow while nothing flows"),
}


@pytest.mark.parametrize(("pairs", "words"), SAYS.values(), ids=SAYS.keys())
def test_what_can_still_be_said_is_said(pairs: str, words: str, call: Call) -> None:
    """Poor comparisons are analysed as far as they go, and what they lack is told."""
    done = call("compare", "--pairs", pairs)
    assert (done.status, done.err) == (0, "")
    assert words in " ".join(done.out.split())


def test_a_rule_book_without_mechanisms(call: Call) -> None:
    """The line and the verdict need none."""
    done = call(*LAMP, "compare", "--pairs", WORKED)
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(" DISAGREES ")
