"""The diagnosis document: a contract for other programs, ``"format": "diagnosis/1"``.

Every other rendering is made from this, so that all of them say the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diagnose.rule_book.types import Caution, Check, Limit, Quantity, Remedy, RuleBook

if TYPE_CHECKING:  # the first question of an interview must not wait for the numerics
    from diagnose.analyses.analysed import Analysis
    from diagnose.language.results import Understanding
    from diagnose.reasoning.diagnosis import Diagnosis, RankedCause
    from diagnose.reasoning.explanation import Reason
    from diagnose.reasoning.proposal import Proposal

FORMAT = "diagnosis/1"

Document = dict[str, Any]


def diagnosis_document(
    rule_book: RuleBook,
    diagnosis: Diagnosis,
    understanding: Understanding | None = None,
    top: int | None = None,
    analysed: Sequence[Analysis] = (),
) -> Document:
    """Return the diagnosis as plain data; ``top`` limits the causes listed."""
    proposals = diagnosis.proposals
    return {
        "format": FORMAT,
        "understood": [_understood(rule_book, each) for each in understanding.understood] if understanding else [],
        "not_understood": list(understanding.not_understood) if understanding else [],
        "doubts": list(understanding.doubts) if understanding else [],
        "analyses": [analysed_document(rule_book, each) for each in analysed],
        "findings": diagnosis.findings,
        "titles": {name: rule_book.findings[name].title for name in diagnosis.findings},
        "causes": [_cause(rule_book, each) for each in diagnosis.causes[:top]],
        "combination": list(diagnosis.combination),
        "unexplained": list(diagnosis.unexplained),
        "conflict_bits": diagnosis.conflict,
        "contradictions": [
            _contradiction(rule_book, diagnosis, each.finding, each.text) for each in diagnosis.contradictions
        ],
        "messages": [*_nothing_wrong(rule_book, diagnosis), *diagnosis.messages, *_conflict_message(diagnosis)],
        "next": _next(rule_book, proposals.next),
        "questions": [_question(rule_book.checks[name]) for name in proposals.questions],
        "cautions": _cautions(rule_book, proposals.next.cautions),
    }


def analysed_document(rule_book: RuleBook, analysed: Analysis) -> Document:
    """Return what an analysis of readings or of a log says, with the titles of its findings."""
    return {
        "about": analysed.about,
        "says": list(analysed.says),
        "warnings": list(analysed.warnings),
        "findings": [
            {"finding": each.finding, "present": each.present, "title": rule_book.findings[each.finding].title}
            for each in analysed.observations
        ],
    }


def _contradiction(rule_book: RuleBook, diagnosis: Diagnosis, finding: str, text: str) -> Document:
    counted = {True: "present", False: "absent", None: "left out"}[diagnosis.findings.get(finding)]
    return {"finding": finding, "title": rule_book.findings[finding].title, "text": text, "counted": counted}


def _nothing_wrong(rule_book: RuleBook, diagnosis: Diagnosis) -> list[str]:
    wrong = [name for name, here in diagnosis.findings.items() if here and rule_book.findings[name].kind != "history"]
    if wrong or diagnosis.cured:
        return []
    if diagnosis.worded:
        told = "Nothing here says for certain what is wrong: the order rests on single words of the report."
    else:
        told = "Nothing here says what is wrong: these are only the commonest causes."
    return [f"{told} Ask first what the meter shows or does."]


def _conflict_message(diagnosis: Diagnosis) -> list[str]:
    if not diagnosis.fits_badly:
        return []
    return [
        "These answers do not fit together well: one of them may be mistaken, or there is more than one fault "
        f"(conflict {diagnosis.conflict:.1f} bit)."
    ]


def _understood(rule_book: RuleBook, item: Any) -> Document:
    told: Document = {"quote": item.quote, "finding": item.finding or None, "present": item.present}
    if item.finding:
        told["title"] = rule_book.findings[item.finding].title
    if item.quantity:
        quantity = rule_book.quantities[item.quantity]
        told |= {"quantity": item.quantity, "title": quantity.title, **_value(quantity, item.value)}
    return told


def _value(quantity: Quantity, value: Any) -> Document:
    """Return a value in the quantity's unit; of a limit the bound, on which side of it, and how people say it."""
    if isinstance(value, Limit):
        return {**_value(quantity, value.bound), "limit": value.direction, "shown": quantity.shown(value)}
    if isinstance(value, int | float):
        value = round((value - quantity.si_offset) / quantity.si_factor, 9)
    return {"value": value, "unit": quantity.unit}


def _cause(rule_book: RuleBook, cause: RankedCause) -> Document:
    return {
        "id": cause.id,
        "title": cause.title,
        "explanation": cause.explanation,
        "area": rule_book.areas[cause.area].title,
        "probability": round(cause.probability, 6),
        "signal": cause.signal,
        "supporting": [_reason(each) for each in cause.supporting],
        "opposing": [_reason(each) for each in cause.opposing],
    }


def _reason(reason: Reason) -> Document:
    return {
        "finding": reason.finding or None,
        "title": reason.title,
        "present": reason.present,
        "decibans": reason.decibans,
        "origin": reason.origin,
        "source": reason.source,
    }


def _next(rule_book: RuleBook, proposal: Proposal) -> Document:
    step = step_of(rule_book, proposal)
    return {
        "kind": proposal.kind,
        "id": proposal.id,
        "title": proposal.title,
        "minutes": proposal.minutes,
        "saves_minutes": proposal.saves_minutes,
        "because": proposal.because,
        "competence": proposal.competence,
        "tools": list(step.tools) if step else [],
        "cautions": _cautions(rule_book, proposal.cautions),
        "steps": [*change_steps(rule_book, proposal), *(step.steps if step else ())],
    }


def step_of(rule_book: RuleBook, proposal: Proposal) -> Check | Remedy | None:
    """Return the check or remedy that a proposal is for; none for handing over and for being done."""
    if proposal.kind == "check":
        return rule_book.checks[proposal.id]
    return rule_book.remedies[proposal.id] if proposal.kind == "remedy" else None


def change_steps(rule_book: RuleBook, proposal: Proposal) -> list[str]:
    """Return the steps that bring the plant to where a proposal needs it."""
    steps: list[str] = []
    for state, value in proposal.changes:
        item = rule_book.states[state]
        change = next(each for each in item.changes if each.to == value and _starts(proposal, state, each.from_))
        steps += change.steps
    return steps


def _starts(proposal: Proposal, state: str, start: str) -> bool:
    return proposal.standing.get(state) == start


def _question(check: Check) -> Document:
    return {"check": check.id, "ask": check.ask, "answers": [each.answer for each in check.outcomes]}


def _cautions(rule_book: RuleBook, raised: Sequence[tuple[str, tuple[str, ...]]]) -> list[Document]:
    return [caution_document(rule_book, rule_book.cautions[name], unless) for name, unless in raised]


def caution_document(rule_book: RuleBook, caution: Caution, unless: Sequence[str]) -> Document:
    """Return one caution; ``condition`` says on which unknown fields of the data sheet it hangs."""
    return {
        "signal": caution.signal,
        "title": caution.title,
        "hazard": caution.hazard,
        "consequence": caution.consequence,
        "avoid": list(caution.avoid),
        "source": rule_book.sources[caution.source].citation,
        "condition": _condition(rule_book, caution, unless),
    }


def _condition(rule_book: RuleBook, caution: Caution, unless: Sequence[str]) -> str:
    parts = []
    for name in unless:
        words = sorted({word for item in caution.comes_up for word in item.get(name, ())})
        parts.append(f"{rule_book.quantities[name].title}: {' or '.join(words)}")
    return "if " + "; ".join(parts) if parts else ""
