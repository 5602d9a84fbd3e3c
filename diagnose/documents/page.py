"""A whole diagnosis as blocks, in the order in which people read it; terminal and Markdown differ in writing only."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Heading, Span, Style, item, line
from diagnose.documents.diagnosis_types import DiagnosisDocument, MeterDocument
from diagnose.language.results import About, Kind
from diagnose.rule_book.plant import SIGNAL_WORDS


def diagnosis_page(document: DiagnosisDocument, least: float = parts.LEAST, marked: bool = False) -> list[Block]:
    """Return all of a diagnosis; causes below ``least`` are counted, not listed. ``marked`` adds the report in parts.

    Hazards that were reported come first, and then nothing follows that would send anybody nearer.
    """
    return [
        *stop(document),
        *_about(document),
        *(_marked(document) if marked else []),
        *_under("How it was left", parts.not_put_back(document.disturbed, document.left)),
        *_under("To be planned for the next shutdown; what was done does for now", _titles(document.to_plan)),
        *_under("Done but not proved", _titles(document.not_proved)),
        *_under("Hazards that are over", parts.hazards_over(document.hazards_over)),
        *_under("Ask first", parts.unclear_dangers(document.unclear_dangers)),
        *_understood(document),
        *_under("Notes", _titles(document.notes)),
        *(block for each in document.analyses for block in parts.analysis(each)),
        *_under("Note", parts.notes(document)),
        *(_causes(document, least) if document.causes else []),
        *([] if document.stop else _to_do(document)),
        *(block for each in document.meters for block in _meter(each, least)),
    ]


def _marked(document: DiagnosisDocument) -> list[Block]:
    """Return the whole report, part by part, each with what became of it."""
    items = tuple(
        item(
            Span(f"{each.kind}: ", _STYLES[each.kind]),
            " ".join(each.text.split()),
            Span(f"  → {', '.join(each.of)}" if each.of else "", "quiet"),
            mark=Span(""),
        )
        for each in document.reading
        if each.text.strip()
    )
    return [Heading("The report, part by part"), Bullets(items)] if items else []


_STYLES: dict[Kind, Style] = {
    "understood": "for",
    "to clear up": "warning-text",
    "not understood": "warning-text",
    "set aside": "quiet",
}


def _about(document: DiagnosisDocument) -> list[Block]:
    if document.about == "a flow meter":
        return []
    names = ", ".join(each.name for each in document.meters)
    told = _ABOUT[document.about] + (f": {names}. Each is diagnosed by itself below." if names else "")
    return [Heading("About"), line(Span(told, "head"))]


_ABOUT: dict[About, str] = {
    "several flow meters": "Several flow meters",
    "no flow meter": "Not about a flow meter, as far as can be told.",
    "seems solved": "This seems to be solved already.",
    "nothing wrong told": "Nothing is said to be wrong.",
}


def _meter(meter: MeterDocument, least: float) -> list[Block]:
    return [Heading(f"━━ {meter.name} ━━"), *diagnosis_page(meter.diagnosis, least)]


def _titles(titles: Sequence[str]) -> list[Block]:
    return [Bullets(tuple(item(each, mark=Span("• ")) for each in titles))] if titles else []


def stop(document: DiagnosisDocument) -> list[Block]:
    """Return the hazards that stop all work, with what comes before anything else."""
    if not document.stop:
        return []
    wait = line(
        Span("Nobody goes near and no work is done until somebody authorised has said that it is over.", "head")
    )
    return [Heading("Stop"), wait, *parts.hazards(document.stop)]


def _to_do(document: DiagnosisDocument) -> list[Block]:
    return [
        *_under("Questions to ask", parts.questions(document.questions)),
        *_under("Cautions before the next step", _cautions(document, hanging=False)),
        *_under("Cautions that depend on the site", _cautions(document, hanging=True)),
        *_under("Next step", parts.step(document.next)),
    ]


def _under(head: str, blocks: list[Block]) -> list[Block]:
    return [Heading(head), *blocks] if blocks else []


def _understood(document: DiagnosisDocument) -> list[Block]:
    understood = parts.statements(document.understood, numbered=bool(document.reading))
    if not understood and not document.analyses:
        understood = [line("nothing that the rule book knows")]
    told = tuple(item(f"“{each}”", mark=Span("")) for each in document.not_understood)
    doubts = tuple(item(each, mark=Span("? ")) for each in document.doubts)
    return [
        *_under("Understood", understood),
        *_under("Not understood", [Bullets(told)] if told else []),
        *_under("To clear up", [Bullets(doubts)] if doubts else []),
    ]


def _causes(document: DiagnosisDocument, least: float) -> list[Block]:
    shown = parts.ranking(document.causes, least=least, why=parts.MOST_REASONS, area=True)
    rest = len(document.causes) - max(1, sum(each.probability >= least for each in document.causes))
    more = [line(Span(f"and {rest} less probable", "quiet"), indent=10)] if rest > 0 else []
    return [Heading("Causes, most probable first"), *shown, *more, *parts.together(document)]


def _cautions(document: DiagnosisDocument, hanging: bool) -> list[Block]:
    """Return the cautions that hold in full, or, in one line each and gravest first, those that depend on the site."""
    told = [each for each in document.next.cautions if bool(each.condition) == hanging]
    if not hanging:
        return [block for each in told for block in parts.caution(each)]
    told.sort(key=lambda each: SIGNAL_WORDS.index(each.signal))
    asked = [line("Ask before anybody goes; what nobody knows counts as dangerous:")] if told else []
    return [*asked, *(block for each in told for block in parts.caution_in_short(each))]
