"""The parts of a document as blocks: one way to show a cause, a step, a caution, a finding, wherever they are shown.

Take the typed document of a part from :mod:`diagnose.documents.document`, make blocks of it here, and write them::

    causes = [cause_document(rule_book, each) for each in diagnosis.causes]
    write(console, ranking(causes, moved={"fuse-blown": 0.12}, most=4, least=0.005))
    write(console, [*proposed(step), *steps(step)])          # or step(...) for both at once
    write(console, caution(caution_document(...)))

``write`` is in :mod:`diagnose.documents.text`, ``to_markdown`` in :mod:`diagnose.documents.markdown`.
Every function returns blocks, and decides nothing about what there is to show.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace

from diagnose.documents.blocks import Block, Bullets, Heading, Item, Numbered, Place, Ranking, Span, Style, item, line
from diagnose.documents.blocks import spans as pieces
from diagnose.documents.diagnosis_types import (
    AnalysisDocument,
    CauseDocument,
    CautionDocument,
    DiagnosisDocument,
    DisturbanceDocument,
    EndedHazardDocument,
    HazardDocument,
    LeftDocument,
    QuestionDocument,
    ReasonDocument,
    StatementDocument,
    StepDocument,
    UnclearDangerDocument,
)
from diagnose.documents.weights import weight
from diagnose.rule_book.competence import a_person

LEAST = 0.01
"""Probability from which a cause is listed."""

MOST_REASONS = 3
MOVED = 0.01
"""A change of probability smaller than this is not shown."""

KINDS = {"check": "Check: ", "remedy": "Remedy: "}
"""What goes before the title of a step; that of handing over or being done says so itself."""


def ranking(
    causes: Sequence[CauseDocument],
    moved: Mapping[str, float] | None = None,
    most: int | None = None,
    least: float = LEAST,
    why: int = 0,
    area: bool = False,
) -> list[Block]:
    """Return causes with bars; at least one, at most ``most``, otherwise none below ``least``.

    ``moved`` says by how much the last answer changed a cause's probability (0.12: "up 12"). ``why`` is how many
    reasons go below each, for and against; with ``area``, numbers go before it, area and status signal after it.
    """
    shown = [each for each in causes if each.probability >= least][:most] or list(causes[:1])
    places = tuple(
        Place(
            each.probability,
            pieces(
                Span(each.title, "head" if area else ""),
                Span(f"  [{each.area}; {each.signal}]" if area else "", "quiet"),
                Span(_movement((moved or {}).get(each.id, 0.0)), "moved"),
            ),
            tuple(reasons(each, why)) if why else (),
        )
        for each in shown
    )
    return [Ranking(places, numbered=area)]


def _movement(change: float) -> str:
    if abs(change) < MOVED:
        return ""
    return f"  {'up' if change > 0 else 'down'} {abs(change) * 100:.0f}"


def reasons(cause: CauseDocument, most: int = MOST_REASONS) -> list[Block]:
    """Return what speaks for a cause in one line and what speaks against it in another, each with its weight."""
    sides: tuple[tuple[str, Style, tuple[ReasonDocument, ...]], ...] = (
        ("for", "for", cause.supporting),
        ("against", "against", cause.opposing),
    )
    return [
        line(Span(f"{word}: ", style), "; ".join(map(_in_short, side[:most])), indent=0)
        for word, style, side in sides
        if side
    ]


def _in_short(reason: ReasonDocument) -> str:
    return f"{_answered(reason)} ({weight(reason.decibans)})"


def reasons_in_full(cause: CauseDocument, most_for: int = 5, most_against: int = 3) -> list[Block]:
    """Return what speaks for and against a cause, each with how strongly, where it comes from and its source."""
    told = (*cause.supporting[:most_for], *cause.opposing[:most_against])
    return [Bullets(tuple(map(_in_full, told)), indent=4)] if told else []


def _in_full(reason: ReasonDocument) -> Item:
    side: Style = "for" if reason.decibans > 0 else "against"
    # What the words of a report say has no source in the trade, only a way of counting.
    origin = f": {reason.origin} [{reason.source}]" if reason.finding else ""
    strength = Span(f"{weight(reason.decibans)} {side}  ", side)
    return item(strength, f"{_answered(reason)}{origin}", mark=Span(""))


def _answered(reason: ReasonDocument) -> str:
    return reason.title if reason.present else f"{reason.title}: no"


def finding(title: str, present: bool, because: str = "", quote: str = "") -> Item:
    """Return one finding with its reason or the words that gave it."""
    mark = Span("+  ", "for") if present else Span("-  ", "against")
    behind = (f"  ({because})" if because else "") + (f"  “{quote}”" if quote else "")
    return item(title if present else f"not: {title}", Span(behind, "quiet"), mark=mark)


def findings(told: Iterable[tuple[str, bool, str]]) -> list[Block]:
    """Return findings (title, present, reason or ""): present ones one by one, all absent ones in one paragraph."""
    told = list(told)
    items = [finding(title, True, because) for title, present, because in told if present]
    absent = "; ".join(title for title, present, _ in told if not present)
    if absent:
        items.append(finding(absent, False))
    return [Bullets(tuple(items))] if items else []


def statement(told: StatementDocument) -> Item:
    """Return one thing understood with the words that gave it."""
    if not told.quantity:
        return finding(told.title, bool(told.present), quote=told.quote)
    figure = f"{told.value:g}" if isinstance(told.value, int | float) else str(told.value)
    value = f"{told.title}: {told.shown or f'{figure} {told.unit or str()}'}".rstrip()
    return item(value, Span(f"  “{told.quote}”", "quiet"), mark=Span("=  ", "for"))


def statements(told: Iterable[StatementDocument], numbered: bool = False) -> list[Block]:
    """Return all that was understood, with numbers by which a statement can be struck out if they are wanted."""
    items = tuple(map(statement, told))
    if numbered:
        items = tuple(_with_number(number, each) for number, each in enumerate(items, 1))
    return [Bullets(items)] if items else []


def _with_number(number: int, statement: Item) -> Item:
    mark = statement.mark or Span("")
    return replace(statement, mark=Span(f"{number:2} {mark.text}", mark.style))


def analysis(document: AnalysisDocument) -> list[Block]:
    """Return what readings or a log say, what follows, and what is odd about them."""
    blocks: list[Block] = [Heading(f"From the {document.about}"), *(line(text) for text in document.says)]
    blocks += findings((each.title, each.present, "") for each in document.findings)
    return [*blocks, *warnings(document.warnings)]


def warnings(texts: Iterable[str]) -> list[Block]:
    """Return what people should be wary of."""
    items = tuple(item(Span(text, "warning-text"), mark=Span("! ", "warning-text")) for text in texts)
    return [Bullets(items)] if items else []


def notes(document: DiagnosisDocument, known: Container[str] = ()) -> list[Block]:
    """Return what does not fit, without what is known already."""
    return warnings(text for text in what_does_not_fit(document) if text not in known)


def what_does_not_fit(document: DiagnosisDocument) -> list[str]:
    """Return contradictions, messages and symptoms that no likely cause explains, in words."""
    taken = {"present": "taken as present", "absent": "taken as absent", "left out": "left out of the ranking"}
    texts = [
        f"Contradiction about “{each.title}”: {each.text}; {taken[each.counted]}." for each in document.contradictions
    ]
    texts += document.messages
    if document.unexplained:
        names = "; ".join(document.titles[name] for name in document.unexplained)
        texts.append(f"None of the likely causes explains: {names}.")
    return texts


def together(document: DiagnosisDocument) -> list[Block]:
    """Return the most probable set of causes, when it is more than one."""
    names = {cause.id: cause.title for cause in document.causes}
    if len(document.combination) < 2 or not names.keys() >= set(document.combination):
        return []  # one that is left out of the ranking has no title here, and its id says nothing to anybody
    both = " and ".join(f"“{names[name]}”" for name in document.combination)
    return [line(f"Most likely together: {both}")]


def caution(document: CautionDocument) -> list[Block]:
    """Return one caution with hazard, consequence and how to avoid it."""
    word, condition = _signal_of(document)
    measures = Bullets(tuple(map(item, document.avoid)), indent=0)
    below = (line(document.consequence, indent=0), *((measures,) if document.avoid else ()))
    return [Bullets((item(word, f" {document.title}{condition}. {document.hazard}", mark=Span(""), below=below),))]


def caution_in_short(document: CautionDocument) -> list[Block]:
    """Return one caution in one line: signal word, title, and what to do in a few words."""
    word, condition = _signal_of(document)
    short = f": {document.short}" if document.short else ""
    return [Bullets((item(word, f" {document.title}{condition}{short}", mark=Span("")),))]


def _signal_of(document: CautionDocument) -> tuple[Span, str]:
    """Return the signal word of a caution and what it depends on."""
    condition = f" ({document.condition})" if document.condition else ""
    return Span(f" {document.signal.upper()} ", document.signal), condition


def unclear_dangers(dangers: Sequence[UnclearDangerDocument]) -> list[Block]:
    """Return words that may tell of a danger, to be asked about before anything else."""
    if not dangers:
        return []
    asked = tuple(item(f"“{each.quote}”: {'; '.join(each.could_be)}?", mark=Span("? ")) for each in dangers)
    return [
        line(Span("Is anybody in danger? If so, nobody goes near: get clear, call for help.", "head")),
        Bullets(asked),
    ]


def hazards_over(ended: Iterable[EndedHazardDocument]) -> list[Block]:
    """Return what was reported and is said to be over, who said so and when, and what remains to be checked."""
    return [line(Span(_over(each), "warning-text" if each.to_do else "")) for each in ended]


def _over(ended: EndedHazardDocument) -> str:
    says = "misread, said" if ended.misread else "over, said"
    who = a_person(ended.said_by) if ended.said_by else "somebody whose competence was not known"
    when = f", {ended.at[:16].replace('T', ' ')} UTC" if ended.at else ""
    must = "" if ended.misread else f" Who must have come: {ended.who}"
    still = f" NOT CHECKED SINCE: {'; '.join(ended.to_do)}." if ended.to_do else ""
    return f"Hazard reported: {ended.title}; {says} {who}{when}.{must}{still}"


def hazards(told: Iterable[HazardDocument]) -> list[Block]:
    """Return the hazards reported, with what to do before anything else."""
    items = tuple(
        item(
            Span(each.title, "head"),
            Span(f"  “{each.quote}”" if each.quote else "", "quiet"),
            mark=Span("! ", "danger"),
            below=(Numbered(tuple(map(item, each.do)), indent=0), line(f"Who must come: {each.who}", indent=0)),
        )
        for each in told
    )
    return [Bullets(items)] if items else []


def step(document: StepDocument) -> list[Block]:
    """Return a step in full: what it is, why, what it takes, what to change first, how to do it, what to put back."""
    return [*proposed(document), *steps(document), *afterwards(document)]


def proposed(document: StepDocument) -> list[Block]:
    """Return a step without how to do it."""
    saves = f"; expected to save about {document.saves_minutes:.0f} min" if document.saves_minutes >= 1 else ""
    blocks: list[Block] = [line(Span(f"{KINDS.get(document.kind, '')}{document.title}", "head"))]
    blocks.append(line(Span(f"why: {document.because}{saves}", "quiet")))
    takes = "; ".join(_takes(document))
    if takes:
        blocks.append(line(takes))
    if document.changes:
        blocks.append(line("first: " + ", ".join(f"{each.title.lower()} {each.to}" for each in document.changes)))
    if document.only_if:
        blocks.append(line(Span(f"ONLY IF  {'; and '.join(document.only_if)}", "warning-text")))
    return blocks


def _takes(document: StepDocument) -> Iterable[str]:
    if document.minutes:
        yield f"takes about {document.minutes:.0f} min"
        yield f"for {a_person(document.competence)}"
    if document.tools:
        yield f"tools: {', '.join(document.tools)}"
    if document.parts:
        yield f"parts: {', '.join(document.parts)}"


def steps(document: StepDocument) -> list[Block]:
    """Return how to do a step, changes of the plant first."""
    return [Numbered(tuple(map(item, document.steps)))] if document.steps else []


def afterwards(document: StepDocument) -> list[Block]:
    """Return what is to be put back after a step, and how."""
    items = tuple(item(_restoring(each)) for each in document.afterwards)
    return [line("then put back, whatever came of it:"), Numbered(items)] if items else []


def not_put_back(disturbed: Iterable[DisturbanceDocument], left: Iterable[LeftDocument]) -> list[Block]:
    """Return what stands otherwise than it was, how it is put back and by whom."""
    texts = [_restoring(each) for each in disturbed]
    texts += [_left(each) for each in left]
    return [line(Span(f"NOT PUT BACK: {text}", "warning-text")) for text in texts]


def _left(state: LeftDocument) -> str:
    # Not "it should be live": whoever reads that after a shock switches on.
    back = f"back to {state.to} only once all that is named here is done"
    if len(state.stands) == 1:
        return f"{state.title.lower()} is {state.stands[0]}; {back}"
    return f"{state.title.lower()} may be {' or '.join(state.stands)}: find out before anything is touched; {back}"


def _restoring(disturbance: DisturbanceDocument) -> str:
    who = "" if disturbance.competence == "ordinary" else f" (for {a_person(disturbance.competence)})"
    return f"{disturbance.title}{who}: {' '.join(disturbance.steps)}"


def questions(asked: Iterable[QuestionDocument]) -> list[Block]:
    """Return questions to ask somebody at the meter, with the answers on offer unless those are yes and no."""
    items = tuple(
        item(each.ask, below=() if each.answers in ((), ("yes", "no")) else (_offered(each.answers),)) for each in asked
    )
    return [Numbered(items)] if items else []


def _offered(answers: Iterable[str]) -> Block:
    return line(Span(" / ".join(answers), "quiet"), indent=0, hang=0)
