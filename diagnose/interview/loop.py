"""The interview itself: one question at a time, until the cause is found, put right and proved, or handed over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial

from diagnose.documents.text import print_line
from diagnose.interview import screens
from diagnose.interview.answers import Choice, Command, Figure, Unclear, read_answer
from diagnose.interview.session import Session
from diagnose.interview.terminal import InputEnded, Terminal
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.reasoning.diagnosis import CONFLICT_BITS, Diagnosis, diagnose
from diagnose.reasoning.observations import FindingSeen, RemedyTried
from diagnose.reasoning.proposals import Proposal, proposal_for_check
from diagnose.reasoning.steps import way_to
from diagnose.rule_book.types import COMPETENCES, Check, Quantity, Remedy

VERDICTS = {
    "cured": "proved, and the complaint is gone",
    "partly": "proved, but something is still wrong",
    "not cured": "not cured: all is as it was",
}

COMPETENCE_WORDS = {
    "ordinary": "ordinary person: look, read, ask; no covers, no terminals",
    "instructed": "instructed person: set tasks as you were shown, signal terminals, valves",
    "skilled": "skilled person: electrical work, isolation, opened lines, as local rules license you",
}


class _Again(Exception):
    """Something was done that is no answer to the question; show the next screen."""


class _Leave(Exception):
    """The person wants to leave."""


@dataclass
class Interview:
    """One interview at a terminal."""

    session: Session
    terminal: Terminal
    _first: dict[str, float] = field(default_factory=dict)

    def run(self) -> int:
        """Ask until done; return the exit status (0 done or left on purpose, 130 when input ended)."""
        try:
            while not self._turn():
                pass
        except _Leave:
            self._say_how_to_resume()
        except InputEnded:
            self._say_how_to_resume()
            return 130
        return 0

    def _say_how_to_resume(self) -> None:
        self.terminal.console.print()
        self._print(f"Saved. Go on with: diagnose interview --resume {self.session.journal.head.case}")

    def _print(self, text: str) -> None:
        print_line(self.terminal.console, text)

    def _turn(self) -> bool:
        """Show one screen and take its answer; return whether the interview is over."""
        try:
            standing = self.session.standing
            if not standing.observations or self._asks_anew():
                self._complaint()
            elif not standing.competence_said:
                self._competence()
            else:
                return self._step()
        except _Again:
            pass
        return False

    def _asks_anew(self) -> bool:
        """Tell whether a fault was put right, something is still wrong, and nobody has said what."""
        standing = self.session.standing
        last = standing.observations[-1]
        return isinstance(last, RemedyTried) and last.verdict == "partly"

    # Questions -----------------------------------------------------------------------------------------------

    def _complaint(self) -> None:
        console, book = self.terminal.console, self.session.rule_book
        screens.rule(console)
        screens.title(console, "What is wrong with the meter? Type it in your own words, or a number:")
        offered = [item for item in book.findings.values() if item.complaint == "common"]
        others = [item for item in book.findings.values() if item.complaint == "other"]
        screens.choices(console, [*(item.title for item in offered), "something else: show more"])
        while True:
            typed = self.terminal.ask()
            meaning = read_answer(typed, [*(item.title for item in offered), *(["more"] if others else [])])
            if isinstance(meaning, Choice) and meaning.number < len(offered):
                self.session.complain([FindingSeen(finding=offered[meaning.number].id, present=True)])
                return
            if isinstance(meaning, Choice):
                offered, others = [*offered, *others], []
                screens.choices(console, [item.title for item in offered])
                continue
            if isinstance(meaning, Command):
                self._command(meaning, None, None)
                continue
            if typed and self.own_words(typed):
                return
            self._print("Nothing in that is known here; put it in other words, or choose a number.")

    def own_words(self, typed: str) -> bool:
        """Record what is understood of a complaint in words; false when nothing is."""
        book = self.session.rule_book
        understanding = understand(typed, book)
        for doubt in understanding.doubts:
            self._print(f"? {doubt}")
        observations = understanding.observations()
        for item in understanding.understood:
            if item.finding:
                stands = "" if item.present else "not: "
                self._print(f"understood: {stands}{book.findings[item.finding].title}")
            elif item.value is not None:
                quantity = book.quantities[item.quantity]
                self._print(f"understood: {quantity.title} {quantity.shown(item.value)}")
        if observations:
            self.session.record(*observations)
        return bool(observations)

    def _competence(self) -> None:
        console = self.terminal.console
        screens.title(console, "What may you do here? (IEC 60050-195; local rules come first)")
        words = list(COMPETENCE_WORDS.values())
        meaning = self._ask(words, None, None)
        if isinstance(meaning, Choice):
            self.session.say_competence(COMPETENCES[meaning.number])

    def _field(self, name: str) -> None:
        """Ask for a field of the data sheet."""
        console, quantity = self.terminal.console, self.session.rule_book.quantities[name]
        unit = f" in {quantity.unit}" if quantity.unit else ""
        screens.title(console, f"The next step needs to know: {quantity.title}{unit}")
        self._print(f"where to find it: {quantity.where_to_find}")
        self._print("unknown is an answer too")
        meaning = self._ask(quantity.choices, None, None, None if quantity.choices else quantity, on_unknown=name)
        if isinstance(meaning, Choice):
            word = quantity.choices[meaning.number]
            self.session.fill_in(name, (word,) if quantity.several else word)
        elif isinstance(meaning, Figure):
            self.session.fill_in(name, meaning.value)

    # Steps ---------------------------------------------------------------------------------------------------

    def _step(self) -> bool:
        session, console = self.session, self.terminal.console
        diagnosis = session.diagnosis()
        if not self._first:
            self._first = self._first_ranking()
        proposal = session.proposal(diagnosis)
        screens.plant(console, session.rule_book, self._plant(), session.journal.head.case)
        now = {cause.id: cause.probability for cause in diagnosis.causes}
        if now != session.before:
            screens.ranking(console, diagnosis, session.before)
            screens.mind(console, diagnosis, session.rule_book, CONFLICT_BITS)
            session.before = now
        if proposal.kind in ("done", "escalate"):
            return self._end(diagnosis, proposal)
        for name in session.open_fields(proposal):
            self._field(name)
            raise _Again
        self._propose(diagnosis, proposal)
        if proposal.kind == "check":
            self._do_check(diagnosis, proposal)
        else:
            self._do_remedy(diagnosis, proposal)
        return False

    def _plant(self) -> dict[str, str]:
        return self.session.standing.state.standing(self.session.rule_book)

    def _propose(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        """Show a step with its cautions, have the grave ones acknowledged, and only then show what to do."""
        console, book = self.terminal.console, self.session.rule_book
        screens.proposed(console, book, proposal)
        screens.cautions(console, book, proposal)
        if self.session.to_acknowledge(proposal):
            screens.footer(console)
            self._heed(diagnosis, proposal)
            self.session.acknowledge(proposal)
        screens.steps(console, book, proposal)

    def _heed(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        """Ask whether the cautions were read and will be heeded."""
        show = partial(self._print, "Type y when you have read this and will heed it.")
        self._ask(["y", "yes"], diagnosis, proposal, prompt="heed it? > ", show=show)

    def _do_check(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        check = self.session.rule_book.checks[proposal.id]
        outcome, readings = self._result(check, proposal.read_also, diagnosis, proposal)
        self.session.answer(check, outcome, readings)

    def _result(
        self, check: Check, also: Sequence[str], diagnosis: Diagnosis, proposal: Proposal
    ) -> tuple[str, dict[str, float]]:
        """Ask for a check's readings or its outcome; return the outcome's words (or none) and the readings."""
        console, book = self.terminal.console, self.session.rule_book
        readings: dict[str, float] = {}
        screens.footer(console)
        for name in also:
            one = partial(screens.reading, console, book.quantities[name], "")
            meaning = self._ask([], diagnosis, proposal, book.quantities[name], show=one)
            if isinstance(meaning, Figure):
                readings[name] = meaning.value
        answers = [outcome.answer for outcome in check.outcomes]
        quantity = book.quantities[check.measures] if check.measures else None
        expected = self._expected(check, readings)

        def show() -> None:
            if quantity:
                screens.reading(console, quantity, expected)
            screens.choices(console, answers)

        meaning = self._ask(answers, diagnosis, proposal, quantity, show=show)
        if isinstance(meaning, Choice):
            outcome = check.outcomes[meaning.number]
            if outcome.means:
                self._print(f"That means: {outcome.means}")
            return outcome.answer, readings
        if isinstance(meaning, Figure) and quantity:
            readings[quantity.id] = meaning.value
        return "", readings

    def _expected(self, check: Check, readings: dict[str, float]) -> str:
        value = self.session.expected(check, readings)
        if value is None:
            return ""
        quantity = self.session.rule_book.quantities[check.expect]
        return quantity.shown(value) + _tolerance(quantity)

    def _do_remedy(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        console, book = self.terminal.console, self.session.rule_book
        remedy = book.remedies[proposal.id]
        screens.footer(console)
        words = ["done", "could not be done"]
        meaning = self._ask(words, diagnosis, proposal)
        if isinstance(meaning, Choice) and meaning.number == 1:
            self.session.set_aside(proposal, "not done")
            return
        self._prove(remedy, diagnosis, proposal)

    def _prove(self, remedy: Remedy, diagnosis: Diagnosis, proposal: Proposal) -> None:
        """Have the check made that proves a remedy, then ask whether it cured."""
        session, console, book = self.session, self.terminal.console, self.session.rule_book
        check = book.checks[remedy.proved_by]
        standing = session.standing
        proof = proposal_for_check(book, check, session.way(remedy).standing, standing.data_sheet)
        screens.title(console, f"Now prove it: {check.title}")
        screens.cautions(console, book, proof)
        if session.to_acknowledge(proof):
            self._heed(diagnosis, proposal)
            session.acknowledge(proof)
        screens.steps(console, book, proof)
        readings: dict[str, float] = {}
        if check.measures:
            _, readings = self._result(check, proof.read_also, diagnosis, proposal)
        screens.title(console, "Did it cure the fault?")
        words = list(VERDICTS.values())
        meaning = self._ask(words, diagnosis, proposal)
        if isinstance(meaning, Choice):
            session.tried(remedy, list(VERDICTS)[meaning.number], readings)

    # The end -------------------------------------------------------------------------------------------------

    def _end(self, diagnosis: Diagnosis, proposal: Proposal) -> bool:
        console, book, standing = self.terminal.console, self.session.rule_book, self.session.standing
        if proposal.kind == "done":
            last = next(each for each in reversed(standing.observations) if isinstance(each, RemedyTried))
            screens.put_right(console, book, book.remedies[last.remedy], diagnosis)
        else:
            ruled_out = [
                cause for cause in diagnosis.causes if cause.probability < 0.01 and self._first.get(cause.id, 0) >= 0.03
            ]
            screens.hand_over(console, book, diagnosis, proposal, ruled_out, standing.notes)
        initial = {name: (state.initial,) for name, state in book.states.items()}
        way = way_to(book, self._plant(), initial)
        screens.restore(console, book, self._plant(), [step for each in way.changes for step in each.change.steps])
        self._print(f"Kept as case {self.session.journal.head.case} in {self.session.journal.path}")
        return True

    def _first_ranking(self) -> dict[str, float]:
        """Return how probable each cause was on the complaint alone."""
        standing = self.session.standing
        first = diagnose(self.session.rule_book, standing.data_sheet, standing.observations[:1], standing.state)
        return {cause.id: cause.probability for cause in first.causes}

    # Asking --------------------------------------------------------------------------------------------------

    def _ask(
        self,
        offered: Sequence[str],
        diagnosis: Diagnosis | None,
        proposal: Proposal | None,
        quantity: Quantity | None = None,
        prompt: str = "> ",
        on_unknown: str = "",
        show: Callable[[], None] | None = None,
    ) -> Choice | Figure:
        """Show what is asked and ask until there is an answer; commands are carried out on the way.

        What is asked is shown again after a command that has filled the screen.
        """
        show = show or (lambda: screens.choices(self.terminal.console, offered))
        show()
        while True:
            typed = self.terminal.ask(prompt)
            meaning = read_answer(typed, offered, quantity)
            if isinstance(meaning, Choice | Figure):
                return meaning
            if isinstance(meaning, Unclear):
                self._print(f"? {meaning.help}")
                continue
            if on_unknown and meaning.word in ("unknown", "skip"):
                self.session.fill_in(on_unknown, None)
                raise _Again
            self._command(meaning, diagnosis, proposal)
            show()

    def _command(self, command: Command, diagnosis: Diagnosis | None, proposal: Proposal | None) -> None:
        """Carry out one of the words that are always there; raise _Again where a new screen is due."""
        if command.word == "save and leave":
            raise _Leave
        if command.word == "back":
            self._back()
        elif command.word == "help":
            screens.commands(self.terminal.console)
        elif command.word == "note":
            self._note(command.rest)
        elif command.word == "plant":
            self._say_plant(command.rest)
        elif diagnosis is None or proposal is None:
            self._print("There is nothing to show or to put aside yet; answer this question, or leave.")
        elif command.word == "full ranking":
            screens.full_ranking(self.terminal.console, diagnosis)
        elif command.word == "why":
            screens.why(self.terminal.console, diagnosis, proposal)
        elif command.word in ("unknown", "skip"):
            self.session.set_aside(proposal, "unknown" if command.word == "unknown" else "skipped")
            raise _Again
        elif command.word == "no such tool":
            self._no_tool(proposal)
        elif command.word == "may not do that":
            self._may_not(proposal)
        else:
            self._other_checks(diagnosis)

    def _back(self) -> None:
        if not self.session.go_back():
            self._print("There is nothing to take back.")
            return
        self._print("The last answer was taken back.")
        self.session.before = {}
        raise _Again

    def _note(self, text: str) -> None:
        text = text or self.terminal.ask("note: ")
        if text:
            self.session.note(text)
            self._print("Noted.")

    def _say_plant(self, typed: str) -> None:
        """Take how a state of the plant stands: ``plant supply isolated``."""
        book = self.session.rule_book
        state, _, value = typed.partition(" ")
        if state in book.states and value in book.states[state].values:
            self.session.plant_stands(state, value)
            raise _Again
        ways = "; ".join(f"plant {name} {' | '.join(item.values)}" for name, item in book.states.items())
        self._print(f"Say how the plant stands: {ways}")

    def _no_tool(self, proposal: Proposal) -> None:
        book = self.session.rule_book
        step = book.checks.get(proposal.id) or book.remedies.get(proposal.id)
        tools = list(step.tools) if step else []
        if not tools:
            self._print("This step needs no tool; skip it with s.")
            return
        number = 0
        if len(tools) > 1:
            self._print("Which tool is not there?")
            meaning = self._ask(tools, None, None)
            number = meaning.number if isinstance(meaning, Choice) else 0
        self.session.without_tool(tools[number])
        self._print(f"Nothing that needs a {tools[number]} will be proposed.")
        raise _Again

    def _may_not(self, proposal: Proposal) -> None:
        below = COMPETENCES.index(proposal.competence) - 1
        if below < 0:
            self._print("Anybody may do this step; skip it with s.")
            return
        self.session.say_competence(COMPETENCES[below])
        self._print(f"Nothing that needs a {proposal.competence} person will be proposed.")
        raise _Again

    def _other_checks(self, diagnosis: Diagnosis) -> None:
        offered = [*diagnosis.proposals.checks[:12], *diagnosis.proposals.remedies[:4]]
        if not offered:
            self._print("There is no other step.")
            return
        show = partial(screens.other_steps, self.terminal.console, offered)
        words = [*(each.title for each in offered), "the proposed step"]
        meaning = self._ask(words, None, None, show=show)
        if isinstance(meaning, Choice) and meaning.number < len(offered):
            self.session.chosen = offered[meaning.number].id
        raise _Again


def _tolerance(quantity: Quantity) -> str:
    """Return the tolerance of an expected reading as people read it."""
    if quantity.tolerance is None:
        return ""
    return f" ± {quantity.tolerance / quantity.si_factor:.2g}"


def interview(session: Session, terminal: Terminal, report: bytes = b"") -> int:
    """Run an interview, from a report if there is one; return the exit status.

    Raises BadInput when an answer cannot be saved, or the report is empty or no text.
    """
    running = Interview(session, terminal)
    if report:
        running.own_words(clean(report))
    return running.run()
