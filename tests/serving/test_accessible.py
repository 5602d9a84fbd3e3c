"""The pages for a phone, looked at by a checker of accessibility where there is a browser for it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import diagnose.serving
from diagnose.cases.events import Closed, MeterNamed
from diagnose.cases.journal import Journal
from diagnose.observations import CheckDone
from tests.documents.accessibility import CHROMIUM, violations
from tests.serving.phones import Server

if not CHROMIUM:
    pytest.skip("no Chromium here (apt-get install chromium)", allow_module_level=True)

LOOK = (Path(diagnose.serving.__file__).parent / "look" / "page.css").read_text(encoding="utf-8")


def whole(page: str) -> str:
    """Return a page with its look in it, and without its script."""
    page = re.sub(r"<script[^>]*></script>", "", page)
    return re.sub('<link rel="stylesheet"[^>]*>', f"<style>{LOOK}</style>", page)


def test_every_kind_of_page(tmp_path: Path) -> None:
    """From the list of cases to what is shown beside a question, and what goes wrong."""
    with Journal.start(tmp_path, {}, "old") as journal:
        journal.add(1, MeterNamed(tag="L-1"), CheckDone(check="look-at-bulb", answer="black"))
        journal.add(2, Closed(outcome="found", cause="bulb-burnt"))
    phone = Server(tmp_path).phone()
    pages = [phone.client.get("/").text, phone.begin("L-1").page]
    pages += [phone.press("lamp is dark").page, phone.type("3").page]
    pages += [phone.client.get(f"/cases/{name}").text for name in (f"{phone.name}/why", "nobody")]
    assert [violations(whole(each)) for each in pages] == [[]] * len(pages)
