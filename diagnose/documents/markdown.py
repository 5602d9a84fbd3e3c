"""A diagnosis document as Markdown, for a ticket or a mail. Pasted text cannot become markup."""

from __future__ import annotations

import re

from diagnose.documents.document import Document
from diagnose.documents.text import MOST_REASONS, percent

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>()#+\-!|~&])")


def escaped(text: str) -> str:
    """Return text in which nothing is Markdown or HTML.

    >>> escaped("[red]<b>*x*")
    '\\\\[red\\\\]\\\\<b\\\\>\\\\*x\\\\*'
    """
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


def markdown(document: Document, least: float = 0.01) -> str:
    """Return the document as Markdown."""
    parts = ["# Diagnosis", *_understood(document), *_analyses(document), *_mind(document), *_causes(document, least)]
    parts += [*_questions(document), *_next(document["next"])]
    return "\n".join(parts) + "\n"


def _understood(document: Document) -> list[str]:
    lines = ["", "## Understood", ""]
    for item in document["understood"]:
        if item.get("quantity"):
            shown = item.get("shown") or f"{item['value']} {item['unit']}".rstrip()
            told = f"{item['title']}: {shown}"
        else:
            told = ("" if item["present"] else "not: ") + item["title"]
        lines.append(f"- {escaped(told)} — “{escaped(item['quote'])}”")
    if not document["understood"] and not document["analyses"]:
        lines.append("- nothing that this rule book knows")
    for title, texts in (("Not understood", document["not_understood"]), ("To be cleared up", document["doubts"])):
        if texts:
            lines += ["", f"## {title}", "", *(f"- {escaped(text)}" for text in texts)]
    return lines


def _analyses(document: Document) -> list[str]:
    lines: list[str] = []
    for each in document["analyses"]:
        told = [("" if item["present"] else "not: ") + item["title"] for item in each["findings"]]
        texts = [*each["says"], *told, *(f"mind: {text}" for text in each["warnings"])]
        lines += ["", f"## From the {escaped(each['about'])}", "", *(f"- {escaped(text)}" for text in texts)]
    return lines


def _mind(document: Document) -> list[str]:
    lines = [
        f"- Contradiction about “{escaped(each['title'])}”: {escaped(each['text'])}."
        for each in document["contradictions"]
    ]
    lines += [f"- {escaped(text)}" for text in document["messages"]]
    if document["unexplained"]:
        names = ", ".join(document["titles"][name] for name in document["unexplained"])
        lines.append(f"- Nothing that is likely explains: {escaped(names)}.")
    return ["", "## Mind", "", *lines] if lines else []


def _causes(document: Document, least: float) -> list[str]:
    lines = [
        "",
        "## Causes, most probable first",
        "",
        "| | cause | area | for | against |",
        "| ---: | --- | --- | --- | --- |",
    ]
    shown = [cause for cause in document["causes"] if cause["probability"] >= least] or document["causes"][:1]
    for cause in shown:
        reasons = [
            "; ".join(
                escaped(("" if each["present"] else "not: ") + each["title"]) + f" ({each['decibans']:+.0f} dB)"
                for each in side[:MOST_REASONS]
            )
            for side in (cause["supporting"], cause["opposing"])
        ]
        share = escaped(percent(cause["probability"]))
        lines.append(
            f"| {share} | {escaped(cause['title'])} | {escaped(cause['area'])} | {reasons[0]} | {reasons[1]} |"
        )
    if len(document["combination"]) > 1:
        names = {cause["id"]: cause["title"] for cause in document["causes"]}
        both = " and ".join(names.get(name, name) for name in document["combination"])
        lines += ["", f"Most probable together: {escaped(both)}."]
    return lines


def _questions(document: Document) -> list[str]:
    if not document["questions"]:
        return []
    lines = ["", "## Questions to ask back", ""]
    for number, question in enumerate(document["questions"], 1):
        answers = "" if question["answers"] in ([], ["yes", "no"]) else f" ({' / '.join(question['answers'])})"
        lines.append(f"{number}. {escaped(question['ask'] + answers)}")
    return lines


def _next(step: Document) -> list[str]:
    lines = ["", "## Next step", ""]
    for caution in step["cautions"]:
        condition = f" ({caution['condition']})" if caution["condition"] else ""
        told = f"{caution['title']}{condition}. {caution['hazard']} {caution['consequence']}"
        lines.append(f"- **{caution['signal'].upper()}** {escaped(told)}")
        lines += [f"  - {escaped(measure)}" for measure in caution["avoid"]]
    if step["cautions"]:
        lines.append("")
    minutes = f" ({step['minutes']:.0f} min, {step['competence']} person)" if step["minutes"] else ""
    lines += [f"**{escaped(step['title'])}**{escaped(minutes)} — {escaped(step['because'])}", ""]
    if step["tools"]:
        lines += [f"Tools: {escaped(', '.join(step['tools']))}", ""]
    lines += [f"{number}. {escaped(each)}" for number, each in enumerate(step["steps"], 1)]
    return lines
