"""Figures that were analysed are kept with their case, and drawn in its report."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.analyses.analysed import Analysis
from diagnose.analyses.answering import analyse_log
from diagnose.analyses.figures import STRETCHES, figures_of_pairs
from diagnose.cases.attached_files import kept_files
from diagnose.cases.events import Attached, CompetenceSaid, StepChosen
from diagnose.cases.journal import Journal
from diagnose.documents.case_report_page import case_report_html
from diagnose.documents.figures_picture import HEIGHT, WIDTH, Picture, figures_picture
from diagnose.interview.reported import report_of
from diagnose.interview.session import Session
from diagnose.observations import FindingSeen
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.replies import Analysed
from diagnose.tables.readings import Readings
from tests.commands.running import run
from tests.documents.pages import faults, parsed, text_of
from tests.engines import real_engine

FIGURES = st.floats(-1e9, 1e9)
PAIRS = "compared,display [l/s],control system [l/s]\nas found,10,11\nas found,20,21.5\nas left,10,10\n"
LOG = "time,seconds,lowest [l/s],mean [l/s],highest [l/s]\nnoon,0,1,2,3\none,3600,2,3,4\ntwo,7200,1,1,1\n"


def places(picture: Picture) -> list[tuple[float, float]]:
    """Return every place that something is drawn at."""
    drawn = f"{picture.band} {picture.line}".split()
    return [(x, y) for x, y, _ in picture.points] + [
        (float(x), float(y)) for x, y in (each.split(",") for each in drawn)
    ]


class TestDrawing:
    """From CSV to places on paper."""

    def test_pairs_are_drawn_by_how_much_they_differ(self) -> None:
        """Over the reference; each comparison has marks of its own, and what is right stands on the line."""
        picture = figures_picture("pairs", PAIRS.encode())
        assert picture is not None
        assert (picture.across, picture.up) == ("display [l/s]", "control system − display [l/s]")
        (ten, first, dot), (twenty, second, _), (again, third, square) = picture.points
        assert ten == again < twenty
        assert second < first < third == picture.zero
        assert dict(picture.marks) == {dot: "as found", square: "as left"}

    def test_a_log_is_drawn_as_a_line_in_its_band(self) -> None:
        """With its times below, as the log has them."""
        picture = figures_picture("log", LOG.encode())
        assert picture is not None
        assert [label for _, label in picture.below] == ["noon", "one", "two"]
        assert (len(picture.line.split()), len(picture.band.split())) == (3, 6)

    @given(st.lists(st.tuples(FIGURES, FIGURES), min_size=1, max_size=5))
    def test_everything_stands_on_the_paper(self, pairs: list[tuple[float, float]]) -> None:
        """Whatever the figures."""
        text = "c,reference [l/s],meter [l/s]\n" + "".join(f",{one!r},{other!r}\n" for one, other in pairs)
        picture = figures_picture("pairs", text.encode())
        assert picture is not None
        assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in places(picture))
        assert 1 <= len(picture.beside) <= 12

    @pytest.mark.parametrize(
        "data",
        [b"", b"a,b", b"\xff", b"a,b,c\n1,2\n", b"a,b,c\n,nan,1\n", b"a,b,c\n,x,1\n", b"a,b [x],c [x],d\n,1,1,1\n"],
    )
    @pytest.mark.parametrize("kind", ["pairs", "log"])
    def test_what_is_no_table_of_figures_is_not_drawn(self, kind: str, data: bytes) -> None:
        """Another program may have written it; it is named as any other file."""
        assert figures_picture(kind, data) is None


class TestKeeping:
    """From an answer to the report."""

    def answered(self, folder: Path, check: str, kind: str, figures: str) -> None:
        """Answer a check of a case with figures."""
        engine = real_engine()
        with Journal.start(folder, {}, "here", engine.fingerprint) as journal:
            journal.add(1, FindingSeen(finding="reads-low", present=True), CompetenceSaid(competence="skilled"))
            journal.add(2, StepChosen(step=check))
            session = Session(engine, journal)
            seen = (FindingSeen(finding="reading-erratic", present=True, quote="log of 3 readings"),)
            analysis = Analysis(about="a <b>log", says=("x",), observations=seen, figures=figures, kind=kind)  # type: ignore[arg-type]
            session.reply(prompt_in(session.situation()), Analysed(analysis=analysis))

    @pytest.mark.parametrize(
        ("check", "kind", "figures"), [("look-at-the-trend", "log", LOG), ("at-which-flow", "pairs", PAIRS)]
    )
    def test_they_are_kept_with_the_answer_and_shown(self, check: str, kind: str, figures: str, tmp_path: Path) -> None:
        """In one turn with it, by their hash, with what the analysis says for whoever does not see the picture."""
        self.answered(tmp_path, check, kind, figures)
        case = Journal.read(tmp_path, "here")
        (kept,) = (each for each in case.entries if isinstance(each.event, Attached))
        assert kept.turn == next(
            each.turn for each in case.entries if isinstance(each.event, FindingSeen) and each.turn > 1
        )
        (file,) = kept_files(tmp_path / "here.case", case)
        assert (file.data.decode(), file.attached.figures, file.kept) == (figures, kind, "as attached")
        page = case_report_html(*report_of(real_engine(), tmp_path, "here"))
        assert faults(page) == []
        assert '<desc id="figures-text-1">a &lt;b&gt;log: x</desc>' in page
        assert "<b>log" not in page

    def test_a_log_stands_among_the_steps(self, tmp_path: Path) -> None:
        """With its figures in short and what it shows, though it is compared with nothing."""
        self.answered(tmp_path, "look-at-the-trend", "log", LOG)
        document, _ = report_of(real_engine(), tmp_path, "here")
        step = document.timeline[-1]
        assert (step.title, step.result) == (
            real_engine().rule_book.checks["look-at-the-trend"].title,
            "log of 3 readings",
        )
        assert step.number == document.ranking.after[-1]

    def test_changed_figures_are_not_drawn(self, tmp_path: Path) -> None:
        """They are named as what they are."""
        self.answered(tmp_path, "look-at-the-trend", "log", LOG)
        (path,) = (tmp_path / "here.files").iterdir()
        path.write_text(LOG.replace("2", "9"))
        page = case_report_html(*report_of(real_engine(), tmp_path, "here"))
        assert "figures-text" not in page
        assert "not what was attached" in text_of(parsed(page))

    @pytest.mark.parametrize("command", [("compare", "--pairs", "10 9; 20 18; 30 27 m3/h"), ("trend", "log.csv")])
    def test_those_of_an_analysis_for_a_case_are_kept_with_it(
        self, command: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As those that were answered in an interview."""
        monkeypatch.chdir(tmp_path)
        rows = [f"2026-01-01 {n // 60:02}:{n % 60:02},{40 + n % 7}" for n in range(600)]
        (tmp_path / "log.csv").write_text("\n".join(["time,flow m3/h", *rows]))
        Journal.start(tmp_path, {}, "here").close()
        assert run(*command, "--case", "here", DIAGNOSE_CASES=str(tmp_path)).status == 0
        (file,) = kept_files(tmp_path / "here.case", Journal.read(tmp_path, "here"))
        assert file.kept == "as attached"
        assert figures_picture(file.attached.figures, file.data) is not None
        assert file.attached.note.startswith(("3 pairs of readings: ", "log log.csv: "))


class TestWriting:
    """From an analysis to CSV."""

    def test_pairs_of_each_comparison(self) -> None:
        """In the unit that they were given in."""
        found = [
            Readings(reference=(0.01,), indicated=(0.011,), unit="l/s", name=name) for name in ("as found", "as left")
        ]
        assert figures_of_pairs(found, "counter").splitlines() == [
            "compared,display [l/s],counter [l/s]",
            "as found,10,11",
            "as left,10,11",
        ]

    def test_a_long_log_in_few_stretches(self, tmp_path: Path) -> None:
        """Lowest and highest reading of each stay, so that no spike is lost."""
        rows = [
            f"2026-01-0{1 + n // 1440} {n // 60 % 24:02}:{n % 60:02},{40 + n % 7 + 50 * (n == 1234)}"
            for n in range(2000)
        ]
        (tmp_path / "log.csv").write_text("\n".join(["time,flow m3/h", *rows]))
        analysis = analyse_log(real_engine(), {}, tmp_path / "log.csv")
        head, *kept = analysis.figures.splitlines()
        assert head == "time,seconds,lowest [m3/h],mean [m3/h],highest [m3/h]"
        assert 0.9 * STRETCHES <= len(kept) <= STRETCHES
        highest = [float(row.split(",")[4]) for row in kept]
        assert max(highest) == 92
        assert analysis.kind == "log"
