"""``diagnose cases report`` as people call it."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from diagnose.cases.events import CompetenceSaid, Note
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone, FindingSeen
from tests.commands.running import LAMP, Done, run
from tests.documents.case_files import PIXEL
from tests.documents.pages import faults, parsed, text_of


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with one case about the lamp."""
    with Journal.start(tmp_path / "cases", {}, "night") as journal:
        journal.add(1, FindingSeen(finding="lamp-dark", present=True, quote="no <b>light</b>"))
        journal.add(2, CompetenceSaid(competence="skilled"))
        journal.add(3, CheckDone(check="look-at-bulb", answer="whole"))
        journal.add(4, Note(text="<script>x</script>"))
    return tmp_path


def report(folder: Path, *arguments: str | Path) -> Done:
    """Call the command on that case."""
    return run(*LAMP, "cases", "report", "night", *arguments, DIAGNOSE_CASES=str(folder / "cases"), cwd=folder)


def test_each_form_says_the_same(folder: Path) -> None:
    """Text where nothing else is named."""
    forms = {form: report(folder, "--format", form) for form in ("html", "markdown", "text", "json")}
    assert [(done.status, done.err) for done in forms.values()] == [(0, "")] * 4
    assert report(folder).out[:100] == forms["text"].out[:100]
    assert faults(forms["html"].out) == []
    assert forms["markdown"].out.startswith("# Fault report of a flow meter\n")
    told = json.loads(forms["json"].out)
    jsonschema.validate(told, json.loads(run("schema", "case-report").out))
    title = next(each["title"] for each in told["timeline"] if each["kind"] == "check")
    for done in (forms["markdown"], forms["text"]):
        assert title in " ".join(done.out.split())
    assert title in text_of(parsed(forms["html"].out))
    assert "<script>" not in forms["html"].out + forms["markdown"].out


def test_the_ending_of_the_file_says_which_form(folder: Path) -> None:
    """Nothing goes to standard output then."""
    for name, begins in (("a.html", "<!doctype html>"), ("a.md", "# Fault"), ("a.json", "{"), ("a.txt", "\nFault")):
        done = report(folder, "--output", name)
        assert (done.status, done.out, done.err) == (0, "", "")
        assert (folder / name).read_text(encoding="utf-8").startswith(begins)


def test_a_photo_is_attached_and_shown(folder: Path) -> None:
    """Its hash stands in the report; it is there in later reports too, and the page needs no other file."""
    (folder / "wet <box>.png").write_bytes(PIXEL)
    done = report(folder, "--attach", "wet <box>.png", "--note", "water in it", "--by", "M.", "--output", "a.html")
    assert done.status == 0
    assert "SHA-256" in done.err
    page = (folder / "a.html").read_text(encoding="utf-8")
    assert faults(page) == []
    assert 'src="data:image/png;base64,' in page
    (kept,) = (folder / "cases" / "night.files").iterdir()
    assert kept.stem in page
    assert kept.stem in report(folder).out.replace("\n", "").replace(" ", "")


def test_what_makes_no_sense_is_told(folder: Path) -> None:
    """A note without a file, a case or a file that is not there, a place that cannot be written."""
    assert report(folder, "--note", "x").status == 2
    assert "there is no case" in run(*LAMP, "cases", "report", "day", DIAGNOSE_CASES=str(folder / "cases")).err
    gone = report(folder, "--attach", "nowhere.png")
    assert (gone.status, gone.out) == (1, "")
    assert "nowhere.png" in gone.err
    assert "cannot be written" in report(folder, "--output", "no/such/folder.html").err
