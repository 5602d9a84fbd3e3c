"""The interview at a terminal: show a prompt, take what is typed, say what was understood. Nothing is decided here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from diagnose.bounded import TooLong
from diagnose.cases.events import Note, TextRead
from diagnose.documents.blocks import Block, line
from diagnose.documents.text import write
from diagnose.errors import DiagnoseError
from diagnose.interview import screens, views
from diagnose.interview.paging import Pager
from diagnose.interview.remarks import remarks
from diagnose.interview.session import Session
from diagnose.interview.terminal import InputEnded, Terminal
from diagnose.protocol import replies
from diagnose.protocol.commanded import reply_of
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_in
from diagnose.protocol.prompts import (
    CautionPrompt,
    ComplaintPrompt,
    HandOverPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    StepsPrompt,
    StopPrompt,
)
from diagnose.protocol.replies import Reply
from diagnose.protocol.situation import Situation

READ_FIRST = CautionPrompt | StopPrompt | StepsPrompt | ProofPrompt | PutBackPrompt
ACTED_ON = replies.Heed | replies.HazardOver | replies.Done | replies.Untouched | replies.Verdict
"""Replies that say that somebody acted on what such a prompt shows: not before all of it was shown."""

READ_ON = "That counts only once all of it has been shown. Read it, then type it again."


class _Leaving(Exception):
    """The person wants to leave."""


@dataclass
class Interview:
    """One interview at a terminal.

    ``asked`` is the prompt that is on the screen, ``ranked`` the ranking that was shown last, ``noted`` what was shown
    there that does not fit; ``said`` waits for what is printed next, so that it cannot scroll away.
    """

    session: Session
    terminal: Terminal
    asked: Prompt | None = None
    ranked: dict[str, float] = field(default_factory=dict)
    noted: frozenset[str] = frozenset()
    said: list[Block] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.pager = Pager(self.terminal)

    def run(self) -> int:
        """Run until the person leaves; return the exit status (0, or 130 when input ended in the middle)."""
        try:
            while True:
                self._turn()
        except _Leaving:
            self._leave()
            status = 0
        except (InputEnded, KeyboardInterrupt):
            if self.terminal.person:
                self._leave()
            status = 0 if isinstance(self._prompt(), HandOverPrompt) else 130
        except TooLong:
            self._say_where_it_is(1)
            raise
        except DiagnoseError:
            raise
        except Exception:
            self._say_where_it_is(1)  # before the error is told: what was answered is not lost
            raise
        self.session.leave()
        self._say_where_it_is(status)
        return status

    def read(self, report: str) -> None:
        """Take a report in place of a complaint; what was understood of it is on the first screen."""
        self._reply(self._prompt(), replies.Words(text=report))

    def _prompt(self) -> Prompt:
        return prompt_in(self.session.situation())

    def _turn(self) -> None:
        """Show the prompt, unless it is on the screen already, and take one reply."""
        situation = self.session.situation()
        prompt = prompt_in(situation)
        ahead = ""
        if prompt != self.asked:
            ahead = self._show(situation, prompt)
        else:
            write(self.terminal.console, self._take_said())
        self._take(situation, prompt, ahead or self.terminal.ask(screens.cursor(prompt)), bool(ahead))

    def _show(self, situation: Situation, prompt: Prompt) -> str:
        """Show the screen of a prompt; return what was typed ahead."""
        before = None
        if screens.has_ranking(prompt):
            now = {cause.id: cause.probability for cause in situation.diagnosis.causes}
            before = self.ranked if now != self.ranked else None
            self.ranked = now
        shown = screens.screen(situation, prompt, before, self.noted)
        if before is not None:
            self.noted = frozenset(screens.does_not_fit(situation))
        self.asked = prompt
        if isinstance(prompt, StopPrompt):  # before anything else, whatever was said
            return self.pager.show([], [*shown.above, *shown.below, *self._take_said()])
        return self.pager.show([*self._take_said(), *shown.above], shown.below)

    def _take_said(self) -> list[Block]:
        said, self.said = self.said, []
        return said

    def _take(self, situation: Situation, prompt: Prompt, text: str, ahead: bool = False) -> None:
        from diagnose.protocol.typed import Unclear, reply_to  # reads words: the first question need not wait for that

        meaning = reply_to(situation.engine, situation.data_sheet, prompt, text)
        if isinstance(meaning, Command):
            self._command(situation, prompt, meaning)
        elif isinstance(meaning, Unclear):
            self._help(prompt, meaning.help)
        elif ahead and isinstance(prompt, READ_FIRST) and isinstance(meaning, ACTED_ON):
            self._help(prompt, READ_ON)
        else:
            self._reply(prompt, meaning)

    def _help(self, prompt: Prompt, text: str) -> None:
        """Say how to reply; on Enter alone show the prompt again, or leave at the end of a case."""
        if not text and isinstance(prompt, HandOverPrompt):
            raise _Leaving
        self.said = [line(f"? {text}")] if text else []
        self.asked = prompt if text else None

    def _reply(self, prompt: Prompt, reply: Reply) -> None:
        turn = self.session.reply(prompt, reply)
        self.said = remarks(self.session.engine.rule_book, turn.remarks)
        if any(not isinstance(event, TextRead | Note) for event in turn.events):
            self.asked = None

    def _command(self, situation: Situation, prompt: Prompt, command: Command) -> None:
        if command.word == "save and leave":
            raise _Leaving
        reply = reply_of(command)
        if reply is not None:
            self._reply(prompt, reply)
        else:
            self._view(situation, prompt, command.word)

    def _view(self, situation: Situation, prompt: Prompt, word: str) -> None:
        """Show something beside the question, page by page, and then the question again."""
        blocks = self._viewed(situation, prompt, word)
        if not blocks:
            self.said = [line("There is nothing to rank yet; answer this question, or leave.")]
            return
        ahead = self.pager.show([], blocks)
        if ahead:
            self._take(situation, prompt, ahead, ahead=True)
        elif word == "more":
            self.asked = prompt
        else:
            self.pager.show([], screens.screen(situation, prompt, None).below)

    def _viewed(self, situation: Situation, prompt: Prompt, word: str) -> list[Block]:
        if word == "help":
            return views.all_words()
        if word == "more":
            return views.more_complaints(prompt) if isinstance(prompt, ComplaintPrompt) else views.all_words()
        if not screens.has_ranking(prompt) and not isinstance(prompt, HandOverPrompt):
            return []
        if word == "why":
            return views.why(situation, getattr(prompt, "proposal", None))
        return views.full_ranking(situation)

    def _leave(self) -> None:
        """Keep what the step on the screen may have left, and say so."""
        self.session.reply(self._prompt(), replies.Leave())
        left = screens.left_behind(self.session.situation())
        if left:
            self.terminal.console.print()
            write(self.terminal.console, left)

    def _say_where_it_is(self, status: int) -> None:
        journal = self.session.journal
        name = journal.head.case
        blocks = [line(f"Saved as case {name}. Go on with: diagnose interview --resume {name}")]
        self.terminal.console.print()
        write(self.terminal.console, blocks)
        if not status:
            self.terminal.console.print(f"  {journal.path}", soft_wrap=True)


def interview(
    session: Session, terminal: Terminal, report: str = "", first: Sequence[str] = (), resumed: bool = False
) -> int:
    """Run an interview, from a report if there is one; return the exit status.

    ``first`` is told ahead of the first question, as what was found on the meter before; ``resumed`` that somebody
    comes back to a case, who may be somebody else.

    Raises BadInput when an answer cannot be saved.
    """
    running = Interview(session, terminal)
    if report:
        running.read(report)
    running.said = [*map(line, first), *running.said]
    if resumed:
        situation = session.situation()
        running.said += screens.resumed(situation, prompt_in(situation))
    return running.run()
