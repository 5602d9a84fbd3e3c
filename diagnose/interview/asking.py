"""Asking: one question until it is answered, and the words that are always there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from diagnose.documents.text import print_line
from diagnose.interview import screens
from diagnose.interview.answers import Choice, Command, Figure, Unclear, command_in, read_answer
from diagnose.interview.session import Session
from diagnose.interview.terminal import Terminal
from diagnose.rule_book.types import COMPETENCES, Quantity

if TYPE_CHECKING:
    from diagnose.reasoning.diagnosis import Diagnosis
    from diagnose.reasoning.proposal import Proposal


class Again(Exception):
    """Something was done that is no answer to the question; show the next screen."""


class Leave(Exception):
    """The person wants to leave."""


@dataclass
class Asker:
    """Asks questions at a terminal and carries out the words that are always there."""

    session: Session
    terminal: Terminal

    def say(self, text: str) -> None:
        """Print one paragraph."""
        print_line(self.terminal.console, text)

    def ask(
        self,
        offered: Sequence[str],
        diagnosis: Diagnosis | None,
        proposal: Proposal | None,
        quantity: Quantity | None = None,
        prompt: str = "> ",
        on_unknown: str = "",
        show: Callable[[], None] | None = None,
        otherwise: Callable[[str], bool] | None = None,
    ) -> Choice | Figure:
        """Show what is asked and ask until there is an answer; commands are carried out on the way.

        What is asked is shown again after a command that has filled the screen. ``otherwise`` is given what is no
        answer, and returns whether it could do something with it.
        """
        show = show or (lambda: screens.choices(self.terminal.console, offered))
        show()
        while True:
            typed = self.terminal.ask(prompt)
            if not typed:
                show()
                continue
            meaning = read_answer(typed, offered, quantity)
            if isinstance(meaning, Choice | Figure):
                return meaning
            if isinstance(meaning, Unclear):
                if not (otherwise and otherwise(typed)):
                    self.say(f"? {meaning.help}")
                continue
            if on_unknown and meaning.word in ("unknown", "skip"):
                self.session.fill_in(on_unknown, None)
                raise Again
            self.command(meaning, diagnosis, proposal)
            show()

    def heed(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        """Ask until somebody says, in so many letters, that the cautions were read; a number is no such answer."""
        while True:
            self.say("Type y when you have read this and will heed it.")
            typed = self.terminal.ask("heed it? > ")
            if typed.lower() in ("y", "yes"):
                return
            command = command_in(typed)
            if command:
                self.command(command, diagnosis, proposal)

    def command(self, command: Command, diagnosis: Diagnosis | None, proposal: Proposal | None) -> None:
        """Carry out one of the words that are always there; raise Again where a new screen is due."""
        if command.word == "save and leave":
            raise Leave
        if command.word == "back":
            self._back()
        elif command.word == "help":
            screens.commands(self.terminal.console)
        elif command.word == "note":
            self._note(command.rest)
        elif command.word == "plant":
            self._say_plant(command.rest)
        elif diagnosis is None or proposal is None:
            self.say("There is nothing to show or to put aside yet; answer this question, or leave.")
        elif command.word == "full ranking":
            screens.full_ranking(self.terminal.console, self.session.rule_book, diagnosis)
        elif command.word == "why":
            screens.why(self.terminal.console, diagnosis, proposal)
        elif command.word in ("unknown", "skip"):
            self.session.set_aside(proposal, "unknown" if command.word == "unknown" else "skipped")
            raise Again
        elif command.word == "no such tool":
            self._no_tool(proposal)
        elif command.word == "may not do that":
            self._may_not(proposal)
        else:
            self._other_checks(diagnosis)

    def _back(self) -> None:
        if not self.session.go_back():
            self.say("There is nothing to take back.")
            return
        self.say("The last answer was taken back.")
        self.session.before = {}
        raise Again

    def _note(self, text: str) -> None:
        text = text or self.terminal.ask("note: ")
        if text:
            self.session.note(text)
            self.say("Noted.")

    def _say_plant(self, typed: str) -> None:
        """Take how a state of the plant stands: ``plant supply isolated``."""
        book = self.session.rule_book
        state, _, value = typed.partition(" ")
        if state in book.states and value in book.states[state].values:
            self.session.plant_stands(state, value)
            raise Again
        ways = "; ".join(f"plant {name} {' | '.join(item.values)}" for name, item in book.states.items())
        self.say(f"Say how the plant stands: {ways}")

    def _no_tool(self, proposal: Proposal) -> None:
        book = self.session.rule_book
        step = book.checks.get(proposal.id) or book.remedies.get(proposal.id)
        tools = list(step.tools) if step else []
        if not tools:
            self.say("This step needs no tool; skip it with s.")
            return
        number = 0
        if len(tools) > 1:
            self.say("Which tool is not there?")
            meaning = self.ask(tools, None, None)
            number = meaning.number if isinstance(meaning, Choice) else 0
        self.session.without_tool(tools[number])
        self.say(f"Nothing that needs a {tools[number]} will be proposed.")
        raise Again

    def _may_not(self, proposal: Proposal) -> None:
        below = COMPETENCES.index(proposal.competence) - 1
        if below < 0:
            self.say("Anybody may do this step; skip it with s.")
            return
        self.session.say_competence(COMPETENCES[below])
        self.say(f"Nothing that needs a {proposal.competence} person will be proposed.")
        raise Again

    def _other_checks(self, diagnosis: Diagnosis) -> None:
        offered = [*diagnosis.proposals.checks[:12], *diagnosis.proposals.remedies[:4]]
        if not offered:
            self.say("There is no other step.")
            return
        show = partial(screens.other_steps, self.terminal.console, offered)
        words = [*(each.title for each in offered), "the proposed step"]
        meaning = self.ask(words, None, None, show=show)
        if isinstance(meaning, Choice) and meaning.number < len(offered):
            self.session.chosen = offered[meaning.number].id
        raise Again
