"""Validations of fields that make sense only beside others of the same entry."""

from __future__ import annotations

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.referring import Entries, Found


def complaints_say_what_is_wrong(book: RuleBook, entries: Entries) -> Found:
    """What somebody may come with says that something is wrong: from history alone no interview could go on."""
    for finding in book.findings.values():
        if finding.complaint and not finding.says_what_is_wrong:
            text = f"nobody comes with `{finding.id}`: it is {finding.kind}, and says of nothing that it is wrong"
            help = "leave `complaint:` out, or make it a symptom"
            yield entries["findings"][finding.id].problem(("complaint",), "wrong-kind", text, help)
