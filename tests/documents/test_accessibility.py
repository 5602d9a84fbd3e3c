"""The pages that are written, looked at by a checker of accessibility where there is a browser for it."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Attached
from diagnose.documents.case_report_page import case_report_html
from diagnose.observations import CheckDone
from tests.documents.accessibility import CHROMIUM, violations
from tests.documents.case_files import CLOSED, case_of, kept, page_of, report_of, whole_case
from tests.documents.test_case_report import DARK

if not CHROMIUM:
    pytest.skip("no Chromium here (apt-get install chromium)", allow_module_level=True)


def test_the_report_of_a_case() -> None:
    """Closed, with a picture and a file; and an open one with its ranking drawn."""
    files = (kept(picture="image/png"), kept(Attached(name="log.csv", sha256="b" * 64, size=9), kept="missing"))
    assert violations(page_of(report_of(whole_case(closed=CLOSED), files=files))) == []
    assert violations(page_of(report_of(case_of(DARK, CheckDone(check="look-at-bulb", answer="clear"))))) == []


def test_the_report_with_figures_drawn() -> None:
    """Each picture has its words, and none of them the name of another one."""
    tables = {
        "pairs": "c,reference [l/s],meter [l/s]\n,1,2\n",
        "log": "t,s,low [l/s],mean [l/s],high [l/s]\na,0,1,1,1\n",
    }
    files = [
        Attached(name=f"{kind}.csv", sha256=kind[0] * 64, size=9, note="told", figures=kind)  # type: ignore[arg-type]
        for kind in tables
    ]
    report = report_of(case_of(DARK), files=tuple(map(kept, files)))
    page = case_report_html(report, {each.sha256: tables[each.figures].encode() for each in files})
    assert page.count('<desc id="figures-text') == 2
    assert violations(page) == []


def test_the_checker_sees_a_fault() -> None:
    """A picture without words."""
    page = page_of(report_of(case_of(DARK)))
    assert violations(page.replace("</main>", '<img src="data:image/png;base64,"></main>'))[0].startswith("image-alt")
