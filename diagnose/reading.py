"""What people write, read: words, quantities and tables, in one way for every way in."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

import msgspec

from diagnose.analyses.analysed import Analysis
from diagnose.bounded import REPORT_LETTERS, REPORT_ROWS, REPORT_TABLES
from diagnose.errors import BadInput, DiagnoseError
from diagnose.language.cleaning import clean, decoded
from diagnose.language.prose_pairs import pairs_in_prose, unnamed_pairs
from diagnose.language.results import Part, Statement
from diagnose.language.topic import Topic, is_foreign, topic_of
from diagnose.language.understanding import Understanding, understand, understand_further
from diagnose.language.word_scores import WordScores, taken_together
from diagnose.observations import Observation, WordEvidence
from diagnose.reasoning.engine import Engine
from diagnose.rule_book.quantities import DataSheet
from diagnose.tables.heading_words import HeadingWords
from diagnose.tables.pasted import PLACE, PastedTable, tables_in


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """A text with what it says: statements understood, clauses not understood, doubts, and its tables analysed.

    ``topic`` is what it is about; ``foreign`` a text that is hardly English, of which at most the meaning is read.
    """

    text: str
    understanding: Understanding
    analyses: tuple[Analysis, ...] = ()
    topic: Topic = Topic("a flow meter")
    foreign: bool = False

    def with_understood(self, statements: Iterable[Statement]) -> Report:
        """Return the report with these statements in place of those that were understood."""
        understanding = msgspec.structs.replace(self.understanding, understood=tuple(statements))
        return msgspec.structs.replace(self, understanding=understanding)

    @property
    def observations(self) -> tuple[Observation, ...]:
        """What the text says, as observations in its order, those of its tables last."""
        of_tables = (each for analysis in self.analyses for each in analysis.observations)
        return (*self.understanding.observations(), *of_tables)


def read_report(
    engine: Engine,
    report: str | bytes,
    data_sheet: DataSheet,
    before: str = "",
    beside: Iterable[Analysis] = (),
    complains: bool = True,
) -> Report:
    """Return what a text says; ``before`` is what was told earlier, ``beside`` what was analysed with it.

    Its words and meaning as a whole count only where somebody ``complains``, and then together with what was told
    before.

    Raises BadInput for a text that is empty (unless something was analysed with it) or no text at all.
    """
    text, tables = tables_in(decoded(report), HeadingWords(engine.rule_book.headings.values()))
    start = text[:REPORT_LETTERS]
    compared, doubts = _within_limits(tables)
    analyses = list(beside)
    for table in compared:
        if table.asked:
            doubts.append(table.asked)
            continue
        try:
            analyses.append(_compared(engine, data_sheet, table))
        except DiagnoseError as error:
            doubts.append(f"the table of readings in the report cannot be used: {error}")
    told = None if tables else _told_in_prose(engine, start)
    if told:
        with suppress(DiagnoseError):  # what a table would be refused for is no reason to refuse a sentence
            analyses.append(_compared(engine, data_sheet, told.table, "the pairs in the report", told.taken))
    understanding = _understood(engine, text, before if complains else "", may_be_empty=bool(analyses or doubts))
    foreign = is_foreign(engine.lexicon, start)
    worded = _worded(engine, understanding, foreign) if complains else None
    if worded and not before:  # whoever keeps the words alone need not read them once more
        engine.weighed.appendleft((worded.report, worded.evidence()))
    understanding = msgspec.structs.replace(understanding, doubts=(*understanding.doubts, *doubts), worded=worded)
    understanding = msgspec.structs.replace(understanding, reading=_with_tables(understanding.reading, tables))
    text = text.replace(f"{PLACE}\n", "").replace(PLACE, "")
    topic = topic_of(engine.lexicon, text[:REPORT_LETTERS], understanding, foreign)
    return Report(
        text=text,
        understanding=understanding,
        analyses=tuple(analyses),
        topic=Topic("a flow meter") if analyses or unnamed_pairs(start) else topic,
        foreign=foreign,
    )


def words_weighed(engine: Engine, report: str) -> WordEvidence:
    """Return what the words of a report, and its meaning, say of each cause; worked out once, and always the same.

    ``report`` is what was told so far, as :class:`WordEvidence` keeps it.
    """
    for before, evidence in engine.weighed:
        if before == report:
            return evidence
    found = _words_weighed(engine, report)
    engine.weighed.appendleft((report, found))
    return found


def _words_weighed(engine: Engine, report: str) -> WordEvidence:
    understanding = understand(report, engine.lexicon)
    worded = _worded(engine, understanding, is_foreign(engine.lexicon, report))
    return worded.evidence() if worded else WordEvidence(report=report)


def _within_limits(tables: Sequence[PastedTable]) -> tuple[list[PastedTable], list[str]]:
    """Return the tables that are compared, none with too many lines, and what to say of the rest."""
    kept: list[PastedTable] = []
    doubts: list[str] = []
    for table in tables[:REPORT_TABLES]:
        lines = table.text.split("\n")
        more = len(lines) - REPORT_ROWS - 1
        if more > 0:
            doubts.append(f"of the table of readings in the report the last {more:,} lines were left out")
        kept.append(replace(table, text="\n".join(lines[: REPORT_ROWS + 1])))
    if len(tables) > REPORT_TABLES:
        doubts.append(f"{len(tables) - REPORT_TABLES:,} more tables of readings in the report were left out")
    return kept, doubts


def _with_tables(reading: Iterable[Part], tables: Sequence[PastedTable]) -> tuple[Part, ...]:
    """Return the parts of a report with its tables where they stood."""
    waiting = deque(Part(f"{table.text}\n", "understood", ("readings",)) for table in tables)
    result: list[Part] = []
    for part in reading:
        pieces = part.text.split(PLACE)
        for number, piece in enumerate(pieces):
            if piece.strip() or (piece and not result):
                result.append(part._replace(text=piece))
            elif piece:
                result[-1] = result[-1]._replace(text=result[-1].text + piece)
            if number < len(pieces) - 1 and waiting:
                result.append(waiting.popleft())
    return (*result, *waiting)


def _compared(
    engine: Engine, data_sheet: DataSheet, table: PastedTable, name: str = "the table in the report", taken: str = ""
) -> Analysis:
    from diagnose.analyses.answering import analyse_table  # numerics only where there is something to compare

    analysis = analyse_table(engine, data_sheet, table.text, name, table.compared)
    return msgspec.structs.replace(analysis, warnings=(taken, *analysis.warnings)) if taken else analysis


class _InProse(NamedTuple):
    """Pairs of readings in sentences as a table, and what is to be said of how they were taken."""

    table: PastedTable
    taken: str


def _told_in_prose(engine: Engine, text: str) -> _InProse | None:
    """Return pairs of readings told in sentences as a table; without a unit they are taken to have the usual one."""
    told = pairs_in_prose(text, engine.lexicon)
    if told is None:
        return None
    quantities = engine.rule_book.quantities
    heads = [f"{quantities[name].column} [{told.unit or quantities[name].unit}]" for name in (told.first, told.second)]
    rows = ["\t".join(pair) for pair in told.written]
    words = HeadingWords(engine.rule_book.headings.values())
    tables = tables_in("\n".join(["\t".join(heads), *rows]), words)[1]
    usual = quantities[told.first].unit
    taken = "" if told.unit else f"nobody says in what unit the pairs are: they are taken to be in {usual}"
    return _InProse(tables[0], taken) if tables else None


def _worded(engine: Engine, understanding: Understanding, foreign: bool) -> WordScores | None:
    """Return what the words and the meaning of a report say of its cause; foreign words only look like some of ours."""
    if understanding.worded is None and understanding.understood:
        return None  # nothing but answers, of which no word is new
    words, meaning = None if foreign else understanding.worded, engine.meaning
    if meaning is None:
        return words
    return taken_together(words, meaning.weigh(understanding.sentences))


def _understood(engine: Engine, text: str, before: str, may_be_empty: bool) -> Understanding:
    try:
        return understand_further(clean(text), before, engine.lexicon)
    except BadInput:
        if text.strip() or not may_be_empty:
            raise
        return Understanding(())
