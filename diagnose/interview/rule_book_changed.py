"""A case that was begun with another rule book: which answers no longer hold is said before anything goes on."""

from __future__ import annotations

from diagnose.cases.fitting import Misfit
from diagnose.documents.blocks import Block, Bullets, Choice, item, line
from diagnose.documents.text import write
from diagnose.interview.session import Session
from diagnose.interview.terminal import InputEnded, Terminal

GO_ON, LEAVE = "1", "2"
STILL_HOLD = "The rule book has changed since this case was left; all its answers still hold."


def accepted(session: Session, terminal: Terminal) -> bool:
    """Tell whether the case goes on by the rule book of now; whoever comes back is asked where answers do not hold."""
    gone = session.misfits
    if session.goes_by_this_rule_book and not gone:
        return True
    if not gone:
        write(terminal.console, [line(STILL_HOLD)])
    elif not session.misfits_were_told:
        write(terminal.console, told(gone))
        if not _go_on(terminal):
            return False
    session.go_by_this_rule_book()
    return True


def told(gone: tuple[Misfit, ...]) -> list[Block]:
    """Return which answers do not hold any more, and what can be done."""
    what = "1 answer" if len(gone) == 1 else f"{len(gone)} answers"
    does = "does" if len(gone) == 1 else "do"
    return [
        line(f"This case was begun with another rule book, and {what} of it {does} not hold any more:"),
        Bullets(tuple(item(f"line {each.line} of the case: {each.text}") for each in gone)),
        line("Go on, and they do not count; they stay in the case, for the rule book that knows them."),
        Choice(GO_ON, "go on without them"),
        Choice(LEAVE, "leave it as it is"),
    ]


def _go_on(terminal: Terminal) -> bool:
    while True:
        try:
            typed = terminal.ask().casefold()
        except InputEnded:
            return False
        if typed in (GO_ON, LEAVE, "l"):
            return typed == GO_ON
        write(terminal.console, [line(f"type {GO_ON} or {LEAVE}")])
