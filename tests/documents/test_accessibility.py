"""The pages that are written, looked at by a checker of accessibility where there is a browser for it."""

from __future__ import annotations

import pytest

from diagnose.cases.events import Attached
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


def test_the_checker_sees_a_fault() -> None:
    """A picture without words."""
    page = page_of(report_of(case_of(DARK)))
    assert violations(page.replace("</main>", '<img src="data:image/png;base64,"></main>'))[0].startswith("image-alt")
