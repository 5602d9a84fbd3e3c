"""The report of a case as blocks, for a terminal and as Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Bullets, Heading, Item, Span, item, line, percent
from diagnose.documents.case_report_page import (
    cause_of,
    looks_on,
    next_step,
    possible,
    size_in_words,
    title_of,
    to_prove,
    together,
    verdict_of,
    when,
)
from diagnose.documents.case_report_types import (
    AttachmentDocument,
    CaseReportDocument,
    CautionRead,
    ComplaintDocument,
    EntryDocument,
    ReadingDocument,
)
from diagnose.documents.markdown import escaped, to_markdown

VERDICTS = {"wrong": "NOT OK", "fine": "OK", "": ""}
KEPT = {"as attached": "", "missing": "; the file is missing", "changed": "; the file is not what was attached"}


def case_report_markdown(document: CaseReportDocument) -> str:
    """Return a report as Markdown, its title first."""
    return f"# {escaped(title_of(document))}\n\n{to_markdown(case_report_blocks(document)[1:])}"


def case_report_blocks(document: CaseReportDocument) -> list[Block]:
    """Return all of a report but its pictures."""
    return [
        *_under(title_of(document), _head(document)),
        *_under("Stop: a hazard was reported and is not over", parts.hazards(document.now.stop)),
        *_under("Result", _result(document)),
        *_under("What remains", _remains(document)),
        *_under("Follow-up", _listed(document.follow_up)),
        *_under("What was reported, in its own words", _complaints(document.complaint)),
        *_under("The meter", _meter(document)),
        *_under("Steps and readings", _entries(document.timeline)),
        *_under("How the ranking moved", _ranking(document)),
        *(block for each in _compared(document) for block in each),
        *_under("Ruled out, and by what", _ruled_out(document)),
        *_under("Isolation and how the plant stood", _plant(document)),
        *_under("Cautions acknowledged", _cautions(document)),
        *_under("Disturbed and put back", _disturbed(document)),
        *_under("Photos and files", _listed(map(_attachment, document.attachments))),
        *_under("Sources", _listed(document.sources)),
        *_under("Not known to this rule book", _listed(document.left_out)),
    ]


def _under(head: str, blocks: Iterable[Block]) -> list[Block]:
    below = list(blocks)
    return [Heading(head), *below] if below else []


def _listed(texts: Iterable[str]) -> list[Block]:
    items = tuple(map(item, texts))
    return [Bullets(items)] if items else []


def _fields(*fields: tuple[str, str]) -> list[Block]:
    items = tuple(item(f"{name}: {value}", mark=Span("")) for name, value in fields if value)
    return [Bullets(items)] if items else []


def _head(document: CaseReportDocument) -> list[Block]:
    return _fields(
        ("case", document.case),
        ("meter", document.meter),
        ("state", document.state),
        ("begun", when(document.begun)),
        ("last entry", when(document.last)),
        ("report made", when(document.made)),
    )


def _result(document: CaseReportDocument) -> list[Block]:
    closed = document.closed
    blocks: list[Block] = [line(Span(f"Cause: {cause_of(document)}", "head"))]
    if closed:
        blocks += _fields(
            ("remedy", closed.remedy),
            ("proof", closed.proof),
            ("reading of the proof", closed.reading),
            ("minutes on site", f"{closed.minutes:g}" if closed.minutes is not None else ""),
            ("parts", ", ".join(closed.parts)),
            ("closed", when(closed.at)),
            ("closed by", closed.by),
        )
    for each in document.remedies:
        if not closed or each.remedy != closed.remedy or each.verdict != "cured":
            proof = f"; proof: {each.proof}" if each.proof else ""
            at = f"; {when(each.at)}" if each.at else ""
            blocks.append(line(f"Remedy, {each.verdict}: {each.remedy}{proof}{at}"))
    return [*blocks, *(line(f"Reopened: {why or 'no reason given'}") for why in document.reopened)]


def _remains(document: CaseReportDocument) -> Iterator[Block]:
    now = document.now
    yield from parts.unclear_dangers(now.unclear_dangers)
    yield from parts.not_put_back(now.disturbed, now.left)
    yield from parts.hazards_over(now.hazards_over)
    for title in now.to_plan:
        yield line(f"To be planned for the next shutdown; what was done does for now: {title}")
    for text in to_prove(document):
        yield line(f"Done but not proved: {text}")
    if not looks_on(document) or now.stop:
        return
    if document.still_wrong:
        yield line("Something else is still wrong; nobody has said what.")
        return
    likely = possible(document)
    if likely:
        yield line(f"Still possible: {'; '.join(f'{each.title} ({percent(each.probability)})' for each in likely)}")
    step = next_step(document)
    if step:
        yield line(Span("Next step", "quiet"))
        yield from parts.proposed(step)


def _complaints(told: Iterable[ComplaintDocument]) -> Iterator[Block]:
    for each in told:
        yield line(Span(f"{when(each.at)}  ", "quiet"), f"“{each.text}”")
        if each.understood:
            yield line(f"understood: {'; '.join(each.understood)}", indent=4)
        if each.not_understood:
            yield line(f"not understood: {'; '.join(f'“{part}”' for part in each.not_understood)}", indent=4)


def _meter(document: CaseReportDocument) -> list[Block]:
    known = _listed(f"{each.title}: {each.shown}" for each in document.data_sheet)
    asked = "; ".join(document.not_known)
    unknown = [line(f"Asked for, and not known: {asked}")] if asked else []
    return [*([line(document.found_before)] if document.found_before else []), *known, *unknown]


def _entries(timeline: Iterable[EntryDocument]) -> list[Block]:
    items = tuple(map(_entry, timeline))
    return [Bullets(items)] if items else []


def _entry(entry: EntryDocument) -> Item:
    verdict = VERDICTS[verdict_of(entry)] if not entry.readings else ""
    back = " (taken back)" if entry.taken_back else ""
    told = "; ".join(filter(None, (entry.result, *entry.means)))
    expected = f"expected: {entry.expected}" if entry.expected else ""
    below = "; ".join(filter(None, (expected, verdict)))
    lines = [line(below, indent=0)] if below else []
    lines += [line(_reading(each), indent=0) for each in entry.readings]
    text = f"{entry.title}{back}{': ' if told else ''}{told}"
    mark = f"{entry.number:>3} {when(entry.at).removesuffix(' UTC')}"
    return item(f"{mark}  {text}", mark=Span(""), below=tuple(lines))


def _reading(reading: ReadingDocument) -> str:
    expected = f" (expected {reading.expected})" if reading.expected else ""
    judged = VERDICTS["wrong" if reading.wrong else "fine" if reading.verdicts else ""]
    said = "; ".join(filter(None, (judged, *reading.verdicts)))
    return f"{reading.title}: {reading.shown}{expected}{'; ' if said else ''}{said}"


def _ranking(document: CaseReportDocument) -> list[Block]:
    after = document.ranking.after
    if len(after) < 2:
        return []
    told = (
        f"{each.title}: {', '.join(map(percent, each.probabilities))}"
        for each in document.ranking.causes
        if each.probabilities
    )
    return [line(f"Probability after entry {', '.join(map(str, after))}:"), *_listed(told)]


def _compared(document: CaseReportDocument) -> Iterator[list[Block]]:
    for each in document.compared:
        shares = _listed(f"{percent(share.probability)} {share.title}" for share in each.mechanisms)
        head = f"Readings compared with the {each.with_what}"
        yield _under(head, [line(Span(f"{when(each.at)}  ", "quiet"), each.figures), *shares])


def _ruled_out(document: CaseReportDocument) -> list[Block]:
    return _listed(
        f"{each.title}, once {percent(each.once)}, at the end {percent(each.now)}: "
        f"{'; '.join(each.by) or 'others explain all that was found'}"
        for each in document.ruled_out
    )


def _plant(document: CaseReportDocument) -> list[Block]:
    return _listed(
        f"{when(at)}  {'; '.join(f'{each.title}: {each.before} → {each.to}' for each in changes)}; "
        f"for {step or 'putting the plant back'}{f', answered by {by}' if by else ''}"
        for (at, step, by), changes in together(document.plant, "at", "at_step", "by")
    )


def _cautions(document: CaseReportDocument) -> list[Block]:
    items = tuple(
        item(
            f"{when(at)}  before: {before}{f'; by {by}' if by else ''}",
            below=tuple(line(_caution(each), indent=0) for each in cautions),
        )
        for (at, before, by), cautions in together(document.cautions, "at", "before", "by")
    )
    return [Bullets(items)] if items else []


def _caution(read: CautionRead) -> str:
    unless = f" (counted as present, for nobody knew: {', '.join(read.unless)})" if read.unless else ""
    return f"{read.signal.upper()} {read.title}{'' if read.again else f': {read.short}'}{unless}"


def _disturbed(document: CaseReportDocument) -> list[Block]:
    return _listed(
        f"{each.title}: from {when(each.at)} ({each.by_step}); "
        f"{f'put back {when(each.restored)}' if each.restored else 'NOT PUT BACK'}"
        for each in document.disturbed
    )


def _attachment(file: AttachmentDocument) -> str:
    note = f": {file.note}" if file.note else ""
    by = f", by {file.by}" if file.by else ""
    at = f", {when(file.at)}" if file.at else ""
    kept = f"; kept as {file.kept_as}" if file.kept != "missing" else ""
    return f"{file.name} ({size_in_words(file.size)}{at}{by}){note}; SHA-256 {file.sha256}{kept}{KEPT[file.kept]}"
