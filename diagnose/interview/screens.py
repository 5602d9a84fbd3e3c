"""What the technician sees. Every function prints one part of a screen; nothing here decides anything."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from diagnose.documents.document import analysed_document, caution_document, change_steps, step_of
from diagnose.documents.text import bar, percent, print_caution, print_findings, print_line
from diagnose.interview.answers import COMMANDS
from diagnose.rule_book.types import Check, Quantity, Remedy, RuleBook, a_person

if TYPE_CHECKING:
    from diagnose.analyses.analysed import Analysis
    from diagnose.reasoning.diagnosis import Diagnosis, RankedCause
    from diagnose.reasoning.proposal import Proposal

RANKED = 4
"""Causes on the everyday screen; the full ranking shows all."""

MOVED = 0.01
"""A change of probability smaller than this is not shown as movement."""


def title(console: Console, text: str) -> None:
    """Print the head of a screen."""
    console.print()
    console.print(Text(text, "head"))


def rule(console: Console) -> None:
    """Print a line across the screen."""
    console.print(Text(("─" if can_draw(console) else "-") * min(console.width, 80), "quiet"))


def can_draw(console: Console) -> bool:
    """Tell whether the terminal shows more than ASCII."""
    return (console.encoding or "utf-8").lower().replace("-", "").startswith("utf")


def plant(console: Console, rule_book: RuleBook, standing: Mapping[str, str], case: str) -> None:
    """Print how the plant stands."""
    states = [f"{item.title}: {standing[item.id]}" for item in sorted(rule_book.states.values(), key=_order)]
    rule(console)
    console.print(Text.assemble((" | ".join(states), "head"), (f"   case {case}", "quiet")), overflow="fold")


def _order(item: object) -> int:
    return int(getattr(item, "order", 0))


def ranking(console: Console, diagnosis: Diagnosis, before: Mapping[str, float], most: int = RANKED) -> None:
    """Print the causes with bars, and what the last answer moved."""
    shown = [cause for cause in diagnosis.causes[:most] if cause.probability >= 0.005] or list(diagnosis.causes[:1])
    for cause in shown:
        line = Text.assemble(
            f"{percent(cause.probability):>5} ",
            (bar(cause.probability, console), "bar"),
            f"  {cause.title}",
            (_movement(cause, before), "moved"),
        )
        print_line(console, line, indent=0, hang=20)


def _movement(cause: RankedCause, before: Mapping[str, float]) -> str:
    if not before:
        return ""
    moved = cause.probability - before.get(cause.id, 0.0)
    if abs(moved) < MOVED:
        return ""
    return f"  {'up' if moved > 0 else 'down'} {abs(moved) * 100:.0f}"


def mind(console: Console, diagnosis: Diagnosis, rule_book: RuleBook) -> None:
    """Print contradictions, misfits and what nothing explains."""
    for each in diagnosis.contradictions:
        name = rule_book.findings[each.finding].title
        print_line(console, Text(f"! Contradiction about “{name}”: {each.text}", "warning-text"))
    for text in diagnosis.messages:
        print_line(console, f"! {text}")
    if diagnosis.fits_badly:
        print_line(console, "! These answers fit together badly: one may be mistaken, or there are two faults.")
    if diagnosis.unexplained:
        names = ", ".join(rule_book.findings[name].title for name in diagnosis.unexplained)
        print_line(console, f"! Nothing likely explains: {names}")
    if len(diagnosis.combination) > 1:
        names = " + ".join(rule_book.causes[name].title for name in diagnosis.combination)
        print_line(console, f"Most probable together: {names}")


def proposed(console: Console, rule_book: RuleBook, proposal: Proposal) -> None:
    """Print the proposed step, why this one, and what it takes; not yet its steps."""
    kind = {"check": "Check", "remedy": "Remedy"}.get(proposal.kind, "")
    title(console, f"{kind}: {proposal.title}")
    saves = ""
    if proposal.saves_minutes >= 1:
        saves = f"; expected to save about {proposal.saves_minutes:.0f} min"
    print_line(console, Text(f"why: {proposal.because}{saves}", "quiet"))
    takes = f"takes about {proposal.minutes:.0f} min, {proposal.competence} person"
    step = step_of(rule_book, proposal)
    if step and step.tools:
        takes += f"; tools: {', '.join(step.tools)}"
    if isinstance(step, Remedy) and step.parts:
        takes += f"; parts: {', '.join(step.parts)}"
    print_line(console, takes)
    if proposal.changes:
        changes = ", ".join(f"{rule_book.states[name].title.lower()} {value}" for name, value in proposal.changes)
        print_line(console, f"first: {changes}")


def caution(console: Console, rule_book: RuleBook, name: str, unless: Sequence[str], in_full: bool) -> None:
    """Print one caution of a step; in short where it was read before in this case."""
    console.print()
    print_caution(console, caution_document(rule_book, rule_book.cautions[name], unless), in_full)


def height(console: Console, show: Callable[[], None]) -> int:
    """Return how many lines something takes on the screen."""
    with console.capture() as captured:
        show()
    return len(captured.get().splitlines())


def steps(console: Console, rule_book: RuleBook, proposal: Proposal) -> None:
    """Print the changes of the plant and the steps themselves, numbered."""
    step = step_of(rule_book, proposal)
    lines = [*change_steps(rule_book, proposal), *(step.steps if step else ())]
    if lines:
        console.print()
        numbered(console, lines)


def numbered(console: Console, lines: Sequence[str]) -> None:
    """Print numbered lines."""
    for number, line in enumerate(lines, 1):
        print_line(console, f"{number}. {line}", hang=3)


def choices(console: Console, offered: Sequence[str]) -> None:
    """Print the answers on offer with their numbers."""
    for number, choice in enumerate(offered, 1):
        print_line(console, Text.assemble((f"{number:>3}", "head"), f"  {choice}"), indent=0, hang=5)


TAKES = {
    "reference": "or type pairs, reference first, `10 12.1; 50 52.2; 90 91.8 m3/h`, or name a file of them",
    "control-system": "or type pairs, display first, `10 30; 50 60; 90 92 m3/h`, or name a file of them",
    "counter": "or type pairs, display first, then counter, `10 10; 50 42 m3/h`, or name a file of them",
    "log": "or name the file of a log",
}
"""What can be given in place of an answer, by what a check takes."""


def takes(console: Console, check: Check) -> None:
    """Print what can be given in place of an answer."""
    if check.takes:
        print_line(console, Text(TAKES[check.takes], "quiet"), indent=5, hang=0)


def analysed(console: Console, rule_book: RuleBook, found: Analysis) -> None:
    """Print what readings or a log say, and the findings that follow."""
    title(console, f"From the {found.about}")
    for text in found.says:
        print_line(console, text)
    print_findings(console, analysed_document(rule_book, found)["findings"])
    for text in found.warnings:
        print_line(console, Text(f"! {text}", "warning-text"))


def reading(console: Console, quantity: Quantity, expected: str) -> None:
    """Print which reading is asked for and what to expect."""
    line = f"Type the reading: {quantity.title}" + (f", in {quantity.unit}" if quantity.unit else "")
    print_line(console, line)
    if expected:
        print_line(console, Text(f"expect {expected} if all is well up to here", "head"))


def footer(console: Console) -> None:
    """Print the words that are always there."""
    words = ", ".join(f"{letter} {word}" for word, (letter, _) in COMMANDS.items())
    print_line(console, Text(words, "quiet"), indent=0, hang=0)


def commands(console: Console) -> None:
    """Print what each of the words does."""
    title(console, "What can be typed at any question")
    for word, (letter, does) in COMMANDS.items():
        print_line(console, f"{letter}  {word}: {does}", hang=4)


def why(console: Console, diagnosis: Diagnosis, proposal: Proposal) -> None:
    """Print the reasons: for and against the leading causes in decibans, and what the proposed step would do."""
    title(console, "Why this ranking (weight of evidence: 10 dB multiplies the odds by 10)")
    for cause in diagnosis.causes[:3]:
        print_line(console, Text(f"{percent(cause.probability)}  {cause.title}", "head"))
        print_line(console, cause.explanation, indent=4)
        for reason in (*cause.supporting[:5], *cause.opposing[:3]):
            stands = "" if reason.present else "not: "
            told = f"{reason.decibans:+5.1f} dB  {stands}{reason.title}: {reason.origin} [{reason.source}]"
            print_line(console, told, indent=4, hang=10)
    if proposal.kind in ("check", "remedy"):
        title(console, f"Why “{proposal.title}”")
        told = f"It {proposal.because}." if proposal.kind == "check" else f"{proposal.because}."
        if proposal.kind == "check" and proposal.saves_minutes >= 0.5:
            told += f" It is expected to save {proposal.saves_minutes:.0f} min."
        elif proposal.kind == "check":
            told += " It is expected to take more minutes than it saves."
        print_line(console, told)


def full_ranking(console: Console, rule_book: RuleBook, diagnosis: Diagnosis) -> None:
    """Print every cause that is not next to impossible."""
    title(console, "All causes")
    shown = [cause for cause in diagnosis.causes if cause.probability >= 0.001]
    for number, cause in enumerate(shown, 1):
        where = rule_book.areas[cause.area].title
        line = f"{number:>3} {percent(cause.probability):>5}  {cause.title} [{where}; {cause.signal}]"
        print_line(console, line, indent=0, hang=11)
    print_line(console, f"and {len(diagnosis.causes) - len(shown)} below 0.1 %")


def other_steps(console: Console, offered: Sequence[Proposal]) -> None:
    """Print other checks and remedies, numbered."""
    title(console, "Other steps")
    for number, each in enumerate(offered, 1):
        worth = _worth(each)
        line = f"{number:>3}  {each.kind}: {each.title} ({each.minutes:.0f} min; {worth})"
        print_line(console, line, indent=0, hang=5)
    print_line(console, f"{len(offered) + 1:>3}  back to the proposed step", indent=0, hang=5)


def _worth(proposal: Proposal) -> str:
    """Return in few words what a step is worth."""
    if proposal.kind == "remedy":
        return proposal.because.split(";")[0]
    return f"saves {proposal.saves_minutes:.0f} min" if proposal.saves_minutes >= 0.5 else "not worth its minutes yet"


def put_right(console: Console, rule_book: RuleBook, remedy: Remedy, diagnosis: Diagnosis) -> None:
    """Print the end of a case that was cured: follow-up and status signal."""
    title(console, f"Cured and proved: {remedy.title}")
    for cause in rule_book.causes.values():
        if cause.remedy == remedy.id and cause.follow_up:
            print_line(console, f"Follow-up: {cause.follow_up}")


def hand_over(
    console: Console,
    rule_book: RuleBook,
    diagnosis: Diagnosis,
    proposal: Proposal,
    unlikely: Sequence[RankedCause],
    notes: Sequence[str],
) -> None:
    """Print the hand-over: what was found, what is no longer likely, what remains, who should come."""
    title(console, f"Hand-over: {proposal.title}")
    print_line(console, f"why: {proposal.because}")
    found = [rule_book.findings[name].title for name, present in diagnosis.findings.items() if present]
    print_line(console, f"Found: {'; '.join(found) or 'nothing'}")
    not_found = [rule_book.findings[name].title for name, present in diagnosis.findings.items() if not present]
    if not_found:
        print_line(console, f"Found not to be so: {'; '.join(not_found)}")
    if unlikely:
        print_line(console, f"No longer likely: {'; '.join(cause.title for cause in unlikely)}")
    remains = [f"{cause.title} ({percent(cause.probability)})" for cause in diagnosis.causes[:5]]
    print_line(console, f"Remains: {'; '.join(remains)}")
    print_line(console, f"Who should come: {a_person(proposal.competence)}")
    for note in notes:
        print_line(console, f"Note: {note}")
