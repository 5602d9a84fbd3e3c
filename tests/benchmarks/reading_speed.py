"""How long reading a report takes: tickets beside a fuzzy search for the same phrases, and long texts of bad kinds."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import yaml
from rapidfuzz import fuzz, process

from diagnose.bounded import REPORT_LETTERS
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from tests.benchmarks.timing import medians
from tests.engines import real_engine

TICKETS = Path(__file__).parent.parent / "language" / "tickets"
LIKE_ENOUGH = 90
GROWTH = 4

LONG_TEXTS: dict[str, Callable[[int], str]] = {
    "a report over and over": lambda length: _repeated("display dark no error flow 38 m3/h xqzwv ", length),
    "one number without end": lambda length: "1" * length,
    "nothing but numbers": lambda length: _repeated("1 ", length),
    "terminal escapes": lambda length: _repeated("\x1b]", length),
    "words never seen": lambda length: _new_words(length)[:length],
}
"""Texts of a given length that a careless reader of reports would choke on."""


def _repeated(piece: str, length: int) -> str:
    return (piece * (length // len(piece) + 1))[:length]


def _new_words(length: int) -> str:
    return " ".join(f"w{number:x} dispxay{number % 7}" for number in range(length // 10))


def tickets() -> list[str]:
    """Return the texts of all tickets."""
    files = sorted(TICKETS.glob("*.yaml"))
    return [clean(each["text"]) for file in files for each in yaml.safe_load(file.read_text(encoding="utf-8"))]


def ticket_line(runs: int) -> str:
    """Return how long a ticket takes, beside looking for every phrase of the rule book by likeness."""
    engine, texts = real_engine(), tickets()
    lexicon = engine.lexicon
    phrases = [phrase for finding in engine.rule_book.findings.values() for phrase in finding.phrases]

    def read() -> None:
        for text in texts:
            understand(text, lexicon)

    def search() -> None:
        for text in texts:
            process.extract(text, phrases, scorer=fuzz.partial_ratio, score_cutoff=LIKE_ENOUGH, limit=None)

    ours, library = (1000 * each / len(texts) for each in medians([read, search], runs))
    return (
        f"A ticket ({len(texts)} of them, median of {runs} runs): {ours:.1f} ms; "
        f"{len(phrases)} phrases sought by rapidfuzz: {library:.1f} ms; ratio {ours / library:.2f}"
    )


def long_text_line(title: str, text: Callable[[int], str], length: int, runs: int) -> str:
    """Return how long a long text takes, beside splitting it into words, and against a part of its length."""
    lexicon = real_engine().lexicon
    part, whole = text(length // GROWTH), text(length)
    short, full, split = medians(
        [lambda: understand(part, lexicon), lambda: understand(whole, lexicon), lambda: re.findall(r"\w+|\S", whole)],
        runs,
    )
    return f"  {title:24}{full:8.2f} s{full / split:10.0f}{full / short:10.1f}"


def report(runs: int = 3, length: int = REPORT_LETTERS) -> str:
    """Return the tables that the benchmark command prints."""
    head = f"  {f'{length:,} characters':24}{'':10}{'to split':>10}{f'to 1/{GROWTH}':>10}"
    lines = [long_text_line(title, text, length, runs) for title, text in LONG_TEXTS.items()]
    return "\n".join([ticket_line(runs), head, *lines])
