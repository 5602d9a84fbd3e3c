"""A diagnosis document for the terminal. Authored and pasted text is shown as text, never as markup."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rich.console import Console
from rich.containers import Lines
from rich.padding import Padding
from rich.text import Text
from rich.theme import Theme

from diagnose.documents.document import Document

THEME = Theme(
    {
        "head": "bold",
        "quiet": "dim",
        "for": "green",
        "against": "magenta",
        "danger": "bold white on red",
        "warning": "bold black on yellow",
        "caution": "bold yellow",
        "notice": "bold cyan",
        "bar": "cyan",
        "moved": "bold",
        "warning-text": "yellow",
    }
)
"""One theme for all screens; every style has its meaning in words beside it, so nothing is lost without colour."""

BAR_CELLS = 12
MOST_REASONS = 3


def make_console(**options: Any) -> Console:
    """Return a console with the theme, without markup, emoji or automatic highlighting."""
    return Console(theme=THEME, markup=False, emoji=False, highlight=False, **options)


def bar(share: float, console: Console, cells: int = BAR_CELLS) -> str:
    """Return a bar of ``cells`` letters for a share between 0 and 1."""
    full, empty = ("█", "·") if _can_show(console, "█·") else ("#", ".")
    filled = round(max(0.0, min(1.0, share)) * cells)
    if share > 0.005:
        filled = max(1, filled)
    return full * filled + empty * (cells - filled)


def _can_show(console: Console, letters: str) -> bool:
    try:
        letters.encode(console.encoding or "utf-8")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def percent(share: float) -> str:
    """Return a probability in whole per cent, without claiming certainty.

    >>> percent(0.4567), percent(0.9999), percent(0.0004)
    ('46 %', '>99 %', '<1 %')
    """
    if share >= 0.995:
        return ">99 %"
    return "<1 %" if share <= 0.005 else f"{share * 100:.0f} %"


def print_document(console: Console, document: Document, least: float = 0.01) -> None:
    """Print a diagnosis document; causes below ``least`` are counted, not listed."""
    _understood(console, document)
    _analyses(console, document)
    _messages(console, document)
    _causes(console, document, least)
    _questions(console, document)
    print_cautions(console, document["next"]["cautions"])
    _next(console, document["next"])


def print_head(console: Console, text: str) -> None:
    """Print the head of a part, set off by an empty line."""
    console.print()
    console.print(Text(text, "head"))


def print_line(console: Console, text: Text | str, indent: int = 2, hang: int = 2) -> None:
    """Print one paragraph whose further lines hang further in."""
    content = Text(text) if isinstance(text, str) else text
    width = max(20, console.width - indent)
    lines = content.wrap(console, width)
    if len(lines) > 1 and hang:
        # The first line may be longer than those that hang below it.
        rest = content[len(lines[0].plain) :]
        rest = rest[len(rest.plain) - len(rest.plain.lstrip()) :]
        lines = Lines([lines[0], *rest.wrap(console, max(16, width - hang))])
    for number, part in enumerate(lines):
        part.rstrip()
        console.print(Padding(part, (0, 0, 0, indent + (hang if number else 0)), expand=False))


def _understood(console: Console, document: Document) -> None:
    if document["understood"] or not document["analyses"]:
        print_head(console, "Understood")
    if not document["understood"] and not document["analyses"]:
        print_line(console, "nothing that this rule book knows")
    for item in document["understood"]:
        print_line(console, _one_understood(item))
    if document["not_understood"]:
        print_head(console, "Not understood")
        for sentence in document["not_understood"]:
            print_line(console, f"“{sentence}”")
    if document["doubts"]:
        print_head(console, "To be cleared up")
        for doubt in document["doubts"]:
            print_line(console, f"? {doubt}")


def _analyses(console: Console, document: Document) -> None:
    for each in document["analyses"]:
        print_head(console, f"From the {each['about']}")
        for text in each["says"]:
            print_line(console, text)
        print_findings(console, each["findings"])
        for text in each["warnings"]:
            print_line(console, Text(f"! {text}", "warning-text"))


def print_findings(console: Console, findings: Iterable[Document]) -> None:
    """Print the findings of an analysis: what is present line by line, all that is absent in one paragraph."""
    findings = list(findings)
    for item in findings:
        if item["present"]:
            because = f"  ({item['because']})" if item.get("because") else ""
            print_line(console, Text.assemble(("+  ", "for"), item["title"], (because, "quiet")))
    absent = [item["title"] for item in findings if not item["present"]]
    if absent:
        print_line(console, Text.assemble(("-  ", "against"), f"not: {'; '.join(absent)}"))


def _one_understood(item: Document) -> Text:
    quote = f"  “{item['quote']}”"
    if item.get("quantity"):
        value = item["value"]
        figure = f"{value:g}" if isinstance(value, int | float) else str(value)
        shown = item.get("shown") or f"{figure} {item['unit']}".rstrip()
        return Text.assemble(("=  ", "for"), f"{item['title']}: {shown}", (quote, "quiet"))
    if item["present"]:
        return Text.assemble(("+  ", "for"), item["title"], (quote, "quiet"))
    return Text.assemble(("-  ", "against"), f"not: {item['title']}", (quote, "quiet"))


def _messages(console: Console, document: Document) -> None:
    lines = [
        f"Contradiction about “{each['title']}”: {each['text']}. Counted as {each['counted']}."
        for each in document["contradictions"]
    ]
    lines += document["messages"]
    if document["unexplained"]:
        names = ", ".join(document["titles"][name] for name in document["unexplained"])
        lines.append(f"Nothing that is likely explains: {names}.")
    if lines:
        print_head(console, "Mind")
        for line in lines:
            print_line(console, f"! {line}")


def _causes(console: Console, document: Document, least: float) -> None:
    print_head(console, "Causes, most probable first")
    shown = [cause for cause in document["causes"] if cause["probability"] >= least] or document["causes"][:1]
    for number, cause in enumerate(shown, 1):
        share = cause["probability"]
        line = Text.assemble(
            f"{number:>2}  {percent(share):>5} ",
            (bar(share, console), "bar"),
            "  ",
            (cause["title"], "head"),
            (f"  [{cause['area']}; {cause['signal']}]", "quiet"),
        )
        print_line(console, line, indent=0, hang=24)
        for word, style, reasons in (("for", "for", cause["supporting"]), ("against", "against", cause["opposing"])):
            if reasons:
                told = "; ".join(_reason(each) for each in reasons[:MOST_REASONS])
                print_line(console, Text.assemble((f"{word}: ", style), told), indent=10)
    rest = len(document["causes"]) - len(shown)
    if rest > 0:
        print_line(console, Text(f"and {rest} less probable", "quiet"), indent=10)
    if len(document["combination"]) > 1:
        names = {cause["id"]: cause["title"] for cause in document["causes"]}
        both = " + ".join(names.get(name, name) for name in document["combination"])
        print_line(console, f"Most probable together: {both}", indent=2)


def _reason(reason: Document) -> str:
    stands = "" if reason["present"] else "not: "
    return f"{stands}{reason['title']} ({reason['decibans']:+.0f} dB)"


def _questions(console: Console, document: Document) -> None:
    if not document["questions"]:
        return
    print_head(console, "Ask back")
    for number, question in enumerate(document["questions"], 1):
        print_line(console, f"{number}. {question['ask']}", hang=3)
        if question["answers"] and question["answers"] != ["yes", "no"]:
            print_line(console, Text("   " + " / ".join(question["answers"]), "quiet"), hang=3)


def print_cautions(console: Console, cautions: Iterable[Document]) -> None:
    """Print cautions with hazard, consequence and how to avoid it; in short those that hang on what is not known."""
    cautions = list(cautions)
    if not cautions:
        return
    print_head(console, "Cautions before the next step")
    for caution in cautions:
        print_caution(console, caution, in_full=not caution["condition"])


def print_caution(console: Console, caution: Document, in_full: bool = True) -> None:
    """Print one caution; in short, only its signal word, title and hazard."""
    condition = f" ({caution['condition']})" if caution["condition"] else ""
    word = f" {caution['signal'].upper()} "
    print_line(
        console, Text.assemble((word, caution["signal"]), f" {caution['title']}{condition}. {caution['hazard']}")
    )
    if not in_full:
        return
    print_line(console, f"{caution['consequence']}", indent=4)
    for measure in caution["avoid"]:
        print_line(console, f"• {measure}" if _can_show(console, "•") else f"* {measure}", indent=4)


def _next(console: Console, step: Document) -> None:
    print_head(console, "Next step")
    kind = {"check": "Check", "remedy": "Remedy", "escalate": "Hand over", "done": "Done"}[step["kind"]]
    minutes = f" ({step['minutes']:.0f} min, {step['competence']} person)" if step["minutes"] else ""
    print_line(console, Text.assemble((f"{kind}: {step['title']}", "head"), minutes))
    saves = f"; expected to save about {step['saves_minutes']:.0f} min" if step["saves_minutes"] >= 1 else ""
    print_line(console, Text(f"why: {step['because']}{saves}", "quiet"))
    if step["tools"]:
        print_line(console, f"tools: {', '.join(step['tools'])}")
    for number, each in enumerate(step["steps"], 1):
        print_line(console, f"{number}. {each}", hang=3)
