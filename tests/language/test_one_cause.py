"""A rule book with a single cause, or none but the one that is not listed: words tell nothing apart, and do no harm."""

from __future__ import annotations

import msgspec
import pytest

from diagnose.language.lexicon import Lexicon
from diagnose.language.understanding import understand
from diagnose.rule_book.load import load_folder
from tests.interview.running import LAMP


@pytest.mark.parametrize("cause", ["bulb-burnt", "not-listed"])
def test_words_of_a_report_where_there_is_one_cause(cause: str) -> None:
    """The report is understood, and every cause that is weighed by its words is as likely as before."""
    book = load_folder(LAMP)
    settings = msgspec.structs.replace(book.settings, wording_weight=1.6, wording_off_the_point=0.15)
    book = msgspec.structs.replace(book, causes={cause: book.causes[cause]}, settings=settings)
    read = understand("The lamp is dark and the bulb is black.", Lexicon(book))
    assert [each.finding for each in read.understood][:1] == ["dark"]
    assert read.worded is None or set(read.worded.evidence().decibans.values()) == {0.0}
