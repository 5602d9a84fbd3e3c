"""A rule book of one's own is written: other figures, the same comments, never over what is there."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.errors import BadInput, WrongUse
from diagnose.learning.learning import Learned, learn, learned_rule_book
from diagnose.learning.prior import Prior
from diagnose.learning.writing import write_rule_book
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.load import load_folder
from diagnose.shipped import shipped_folder
from tests.learning.cases import closed
from tests.rule_book.lamps import MINIMAL

DAY = "2026-12-01"


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """Return a rule book with comments in it, one of them behind a figure."""
    folder = tmp_path / "lamps"
    shutil.copytree(MINIMAL, folder)
    blown = folder / "causes" / "bulb_blown.yaml"
    text = blown.read_text().replace("frequency: common", "# bulbs: by trade\nfrequency: common  # three in ten")
    blown.write_text(text)
    return folder


def learned_from(source: Path) -> Learned:
    """Return what twenty blown bulbs teach, half of them found whole by whoever looked."""
    cases = [closed(number, "bulb-blown") for number in range(20)]
    looks = {each.name: {"filament-broken": number % 2 == 0} for number, each in enumerate(cases)}
    engine = Engine(load_folder(source))
    return learn(engine, cases, Prior(20, 10), looks=lambda _, case: looks[case.name])


class TestWhatIsWritten:
    """What stands in the new folder."""

    def test_it_holds_the_figures_that_were_learned(self, source: Path, tmp_path: Path) -> None:
        """Read again, to three digits."""
        learned = learned_from(source)
        write_rule_book(source, tmp_path / "ours", learned, DAY)
        ours, wanted = load_folder(tmp_path / "ours"), learned_rule_book(load_folder(source), learned)
        for name, cause in wanted.causes.items():
            assert ours.causes[name].frequency == pytest.approx(cause.frequency, rel=0.006)
            assert ours.causes[name].shows == pytest.approx(cause.shows, rel=0.006)

    def test_comments_stay_and_say_from_how_many_cases(self, source: Path, tmp_path: Path) -> None:
        """Above each figure, with what stood there before."""
        write_rule_book(source, tmp_path / "ours", learned_from(source), DAY)
        text = (tmp_path / "ours" / "causes" / "bulb_blown.yaml").read_text()
        assert "# bulbs: by trade\n" in text
        assert "  # three in ten\n" in text
        assert "# 2026-12-01: found in 20 of 20 closed cases; before: common\n" in text
        assert "# 2026-12-01: seen in 10 of 20 closed cases; before: nearly always\nshows: {" in text

    def test_all_other_files_stay_as_they_are(self, source: Path, tmp_path: Path) -> None:
        """Byte for byte."""
        write_rule_book(source, tmp_path / "ours", learned_from(source), DAY)
        for path in source.rglob("*.yaml"):
            if "causes" not in path.parts:
                assert (tmp_path / "ours" / path.relative_to(source)).read_bytes() == path.read_bytes()

    def test_a_figure_in_the_middle_of_a_text_over_several_lines(self, source: Path, tmp_path: Path) -> None:
        """No comment may stand there; it stands at the end."""
        path = source / "causes" / "bulb_blown.yaml"
        first = "id: bulb-blown\ntitle: Bulb blown\n"
        in_one = (
            "{id: bulb-blown, title: Bulb blown, area: lamp, "
            'explanation: "The filament\n  has burnt", frequency: common, '
            "shows: {lamp-dark: nearly always, filament-broken: nearly always}, looks-like: [supply-missing],\n"
            "  remedy: change-bulb, signal: failure, source: estimate}\n"
        )
        assert path.read_text().startswith(first)
        path.write_text(in_one)
        write_rule_book(source, tmp_path / "ours", learned_from(source), DAY)
        text = (tmp_path / "ours" / "causes" / "bulb_blown.yaml").read_text()
        assert load_folder(tmp_path / "ours").causes["bulb-blown"].explanation == "The filament has burnt"
        assert text.endswith("; before: nearly always\n")


class TestWhatIsRefused:
    """What must not be written over."""

    def test_a_folder_that_holds_something(self, source: Path, tmp_path: Path) -> None:
        """Whatever it is."""
        (tmp_path / "ours").mkdir()
        (tmp_path / "ours" / "note.txt").write_text("keep")
        with pytest.raises(WrongUse, match="something already"):
            write_rule_book(source, tmp_path / "ours", learned_from(source), DAY)
        assert [each.name for each in (tmp_path / "ours").iterdir()] == ["note.txt"]

    @pytest.mark.parametrize("below", ["", "ours"])
    def test_the_rule_book_itself(self, source: Path, below: str) -> None:
        """Nor a folder in it."""
        with pytest.raises(WrongUse, match="the rule book itself"):
            write_rule_book(source, source / below, learned_from(source), DAY)

    def test_the_included_rule_book(self, source: Path) -> None:
        """Whatever rule book was learned from, and by whatever way the folder is named."""
        shipped = shipped_folder("rules")
        with pytest.raises(WrongUse, match="the rule book itself"):
            write_rule_book(source, shipped / "causes" / "..", learned_from(source), DAY)

    def test_a_place_that_cannot_be_written(self, source: Path, tmp_path: Path) -> None:
        """Said in words."""
        (tmp_path / "file").write_text("")
        with pytest.raises(BadInput, match="cannot be written"):
            write_rule_book(source, tmp_path / "file" / "ours", learned_from(source), DAY)
