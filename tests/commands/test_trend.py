"""``diagnose trend`` as people call it: a log in, a screen, a document, a picture or observations of a case out."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.collections import LineCollection

from diagnose.cases.journal import Journal
from diagnose.documents import trend_plot
from diagnose.observations import FindingSeen
from diagnose.shipped import shipped_folder
from tests.commands.running import LAMP, Call, document, run

THREE_DAYS = str(shipped_folder("cases") / "readings" / "three_days.csv")
"""Invented: a pump that stands at night, a wrong zero, three drop-outs, three hours stuck."""

HEAD = "time;flow [m3/h]\n"


def minutes(*values: float | str, head: str = HEAD) -> str:
    """Return a log of one reading a minute."""
    return head + "".join(f"2026-03-01 {n // 60:02}:{n % 60:02};{value}\n" for n, value in enumerate(values))


class TestScreen:
    """What a technician reads."""

    def test_which_log_what_is_seen_and_what_follows(self) -> None:
        """The order of the screen is the order in which people ask."""
        done = run("trend", THREE_DAYS)
        assert (done.status, done.err) == (0, "")
        assert done.out.startswith("864 readings, 2026-03-02 00:00 to 2026-03-04 23:55, usually one every 5 min")
        heads = ["Seen", "Readings [m3/h]", "Looked for and not seen", "Not tested", "What follows for the diagnosis"]
        at = [done.out.index(f"\n{head}\n") for head in heads]
        assert at == sorted(at)
        said = " ".join(done.out.split())
        assert "stuck on one value: 36 equal readings in a row" in said
        assert "2026-03-03 12:30 for 2.92 h: 44.62 m3/h" in said
        assert "shows flow while the pump is off: 1.32 in 117 readings" in said
        assert "drops to zero and comes back: 3 times" in said
        assert "+ shows a value that never moves" in said

    @pytest.mark.parametrize("changes", [{}, {"PYTHONUTF8": "0", "LC_ALL": "C", "PYTHONIOENCODING": "ascii"}])
    def test_eighty_columns_without_colour_in_a_pipe(self, changes: dict[str, str]) -> None:
        """No line is longer, and a terminal that knows ASCII only gets letters that it can show."""
        done = run("trend", THREE_DAYS, **changes)
        assert max(map(len, done.out.splitlines())) <= 80
        picture = done.out.split("Readings [m3/h]")[1].split("Looked for")[0]
        assert ("#" if changes else "█") in picture
        assert "?" not in picture

    def test_marks_stand_below_their_time(self, call: Call) -> None:
        """What was stuck on the second day is marked in the middle of the picture."""
        lines = call("trend", THREE_DAYS).out.splitlines()
        row = lines[lines.index("          stuck on one value") - 1]
        assert 0.45 < (row.index("▬") - 10) / 69 < 0.55

    def test_standard_input_is_a_log_too(self, call: Call) -> None:
        """As the file, but for its name."""
        assert (
            call("trend", "-", stdin=Path(THREE_DAYS).read_text(encoding="utf-8")).out == call("trend", THREE_DAYS).out
        )

    def test_nothing_seen_is_said(self, call: Call) -> None:
        """A clean log has nothing but what was looked for."""
        values = [f"{value:.2f}" for value in np.random.default_rng(1).normal(50, 1, 200)]
        out = call("trend", "-", stdin=minutes(*values)).out
        assert "nothing that was looked for" in out
        assert "false alarms: at most" in " ".join(out.split())


class TestDocument:
    """What other programs read."""

    def test_keys_and_order(self, call: Call) -> None:
        """What is seen comes first, most probable first; findings carry their figures."""
        found = document(call("trend", THREE_DAYS, "--format", "json"))
        assert found["format"] == "trend/1"
        assert {"log", "statistics", "mechanisms", "signs", "findings", "warnings"} <= found.keys()
        assert [each["id"] for each in found["mechanisms"]] == ["stuck", "drop-outs", "zero-at-standstill"]
        probabilities = [each["probability"] for each in found["mechanisms"]]
        assert probabilities == sorted(probabilities, reverse=True)
        assert all(each["parameters"] for each in found["mechanisms"])
        by_id = {each["id"]: each for each in found["signs"]}
        assert by_id["stuck"]["marks"][0] == {
            "from": "2026-03-03 12:30",
            "to": "2026-03-03 15:25",
            "start": 1772541000.0,
            "seconds": 10500.0,
            "size": 44.62,
        }
        frozen = next(each for each in found["findings"] if each["id"] == "value-frozen")
        assert frozen["present"]
        assert "864 readings" in frozen["because"]
        assert "36 equal readings in a row" in frozen["because"]

    def test_a_range_from_options_or_data_sheet(self, tmp_path: Path, call: Call) -> None:
        """Readings at URV and beyond are its end, whoever says where that is."""
        (tmp_path / "log.csv").write_text(minutes(*[40, 41, 42] * 10, *[50.2, 50.4, 50.3] * 5), encoding="utf-8")
        (tmp_path / "sheet.yaml").write_text("upper-range-value: 50 m3/h\n", encoding="utf-8")
        for more in (("--urv", "50m3/h"), ("--data-sheet", "sheet.yaml")):
            found = document(call("trend", "log.csv", "--format", "json", *more))
            assert "saturated" in [each["id"] for each in found["mechanisms"]]

    def test_another_rule_book_says_what_signs_there_are(self) -> None:
        """A rule book about lamps knows none."""
        assert document(run(*LAMP, "trend", THREE_DAYS, "--format", "json"))["signs"] == []


class TestPictures:
    """PNG, SVG, PDF."""

    @pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
    def test_a_picture_is_written(self, kind: str, tmp_path: Path, call: Call) -> None:
        """A whole file of its kind; SVG names what is marked."""
        done = call("trend", THREE_DAYS, "--plot", f"log.{kind}")
        assert done.status == 0
        data = (tmp_path / f"log.{kind}").read_bytes()
        assert data.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[kind])
        if kind == "svg":
            ET.fromstring(data)

    def test_one_reading_that_drops_is_seen(self, tmp_path: Path, call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
        """However many readings a stretch of the picture has, a line goes down to the lowest of them."""
        figures: list[Any] = []
        monkeypatch.setattr(trend_plot, "save_figure", lambda figure, _path: figures.append(figure))
        rows = [f"{10 * number},{0 if number == 2500 else 80 + number % 3}" for number in range(6000)]
        (tmp_path / "log.csv").write_text("\n".join(("time [s],flow [m3/h]", *rows)), encoding="utf-8")
        assert call("trend", "log.csv", "--plot", "log.png").status == 0
        lines = [each for each in figures[0].axes[0].collections if isinstance(each, LineCollection)]
        assert min(float(end[1]) for each in lines for line in each.get_segments() for end in line) == 0

    def test_another_kind_is_refused(self, tmp_path: Path, call: Call) -> None:
        """Told before anything is drawn."""
        done = call("trend", THREE_DAYS, "--plot", "log.bmp")
        assert done.status == 2
        assert "pictures are .png, .svg, .pdf" in done.err
        assert list(tmp_path.glob("log*")) == []


class TestCase:
    """Findings added to an interview that was left."""

    def test_findings_are_added_with_their_figures(self, tmp_path: Path, call: Call) -> None:
        """Each as if somebody had said it, in the words of the log."""
        with Journal.start(tmp_path, {}, "left"):
            pass
        done = call("trend", THREE_DAYS, "--case", "left")
        assert "4 findings added to the case left" in done.err
        with Journal.resume(tmp_path, "left") as journal:
            events = [entry.event for entry in journal.entries]
        said = {each.finding: each for each in events if isinstance(each, FindingSeen)}
        assert said["value-frozen"].present
        assert said["reading-at-standstill"].quote.startswith("log of 864 readings")

    def test_a_case_that_is_not_there_is_told(self, call: Call) -> None:
        """And nothing is begun."""
        done = call("trend", THREE_DAYS, "--case", "nobody")
        assert done.status == 1
        assert "nobody" in done.err


WRONG = [
    ("", (), 1, "has no readings"),
    (HEAD, (), 1, "has no readings"),
    (minutes(1.5), (), 1, "one reading; a trend needs at least 3"),
    (minutes(1.5, 1.6), (), 1, "2 readings; a trend needs at least 3"),
    (minutes("NaN", "NaN", "NaN", 5), (), 1, "one reading; a trend needs at least 3"),
    (minutes(*range(9), head="time;flow\n"), (), 1, "give --unit"),
    (minutes(*range(9), head="time;flow [furlong]\n"), (), 1, "furlong"),
    (minutes(*range(9)), ("--unit", "parsec"), 1, "parsec"),
    (minutes(*range(9)), ("--flow", "level"), 1, "level"),
    (minutes(*range(9)), ("--urv", "50"), 1, "no unit"),
    (minutes(*range(9)), ("--plot", "x.txt"), 2, "pictures are"),
    (minutes(*range(9)), ("--decimal", "dot"), 2, "dot"),
]


@pytest.mark.parametrize(("text", "options", "status", "told"), WRONG)
def test_what_cannot_be_read_is_told(text: str, options: tuple[str, ...], status: int, told: str, call: Call) -> None:
    """With the reason, nothing on standard output, and a status that is not zero."""
    done = call("trend", "-", *options, stdin=text)
    assert (done.status, done.out) == (status, "")
    assert told in done.err


def test_a_log_without_unit_is_read_with_the_unit_that_is_said(call: Call) -> None:
    """Asked for, never guessed."""
    done = call("trend", "-", "--unit", "l/s", stdin=minutes(*range(40), head="time;flow\n"))
    assert done.status == 0
    assert "l/s" in done.out


@pytest.mark.parametrize("values", [[7] * 40, [0] * 40, [7, 8] * 20, [1e9] * 20 + [-1e9] * 20, ["5", "bad"] * 20])
def test_odd_logs_are_read(values: list[float | str], call: Call) -> None:
    """Constant, nothing, a zigzag, huge, half of it text: what can be said is said."""
    done = call("trend", "-", stdin=minutes(*values))
    assert done.status == 0
    assert "readings, 2026-03-01 00:00" in done.out
