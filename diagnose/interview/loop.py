"""The interview itself: one question at a time, until the cause is found, put right and proved, or handed over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from diagnose.errors import DiagnoseError
from diagnose.interview import screens
from diagnose.interview.answers import Choice, Command, Figure, read_answer
from diagnose.interview.asking import Again, Asker, Leave
from diagnose.interview.session import Session
from diagnose.interview.terminal import InputEnded, Terminal
from diagnose.language.cleaning import clean
from diagnose.observations import FindingSeen, Measurement, RemedyTried, WordEvidence
from diagnose.rule_book.types import COMPETENCES, Check, Quantity, Reading, Remedy

if TYPE_CHECKING:
    from diagnose.reasoning.diagnosis import Diagnosis
    from diagnose.reasoning.proposal import Proposal

ABOVE_CAUTIONS = 12
"""Lines of the screen above the first caution: the plant, the ranking, the proposed step."""

BELOW_CAUTIONS = 4
"""Lines below the last caution: the words that are always there, and the question."""

MOST_SAID = 2
"""So many things are said of a reading at most."""

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


@dataclass
class Interview:
    """One interview at a terminal."""

    session: Session
    terminal: Terminal
    asker: Asker
    _first: dict[str, float] = field(default_factory=dict)
    _nobody_knows: bool = False
    """Nobody can say what is wrong; the interview goes on with what else is known."""

    def run(self) -> int:
        """Ask until done; return the exit status (0 done or left on purpose, 130 when input ended)."""
        try:
            while not self._turn():
                pass
        except Leave:
            self._say_how_to_resume()
        except InputEnded:
            self._say_how_to_resume()
            return 130
        return 0

    def _say_how_to_resume(self) -> None:
        self.terminal.console.print()
        self.asker.say(f"Saved. Go on with: diagnose interview --resume {self.session.journal.head.case}")

    def _turn(self) -> bool:
        """Show one screen and take its answer; return whether the interview is over."""
        try:
            standing = self.session.standing
            if not self._complained() or self._asks_anew():
                self._complaint()
            elif not standing.competence_said:
                self._competence()
            else:
                return self._step()
        except Again:
            pass
        return False

    def _complained(self) -> bool:
        """Tell whether something is known to be wrong, and not only how the meter stands and what went before."""
        observations = self.session.standing.observations
        if not observations or self._nobody_knows:
            return bool(observations)
        findings = self.session.rule_book.findings
        if any(not isinstance(each, FindingSeen | Measurement | WordEvidence) for each in observations):
            return True
        said = (each for each in observations if isinstance(each, FindingSeen) and each.present)
        if any(each.finding in findings and findings[each.finding].kind != "history" for each in said):
            return True
        concluded = (
            self.session.diagnosis().findings if any(isinstance(each, Measurement) for each in observations) else {}
        )
        return any(present and findings[name].kind != "history" for name, present in concluded.items())

    def _asks_anew(self) -> bool:
        """Tell whether a fault was put right, something is still wrong, and nobody has said what."""
        standing = self.session.standing
        last = standing.observations[-1]
        return isinstance(last, RemedyTried) and last.verdict == "partly"

    # Questions -----------------------------------------------------------------------------------------------

    def _complaint(self) -> None:
        console = self.terminal.console
        screens.rule(console)
        if self.session.standing.observations and not self._asks_anew():
            self.asker.say("That is kept, but it does not say what is wrong. Type u if nobody can say more.")
        screens.title(console, "What is wrong with the meter? Type it in your own words, or a number:")
        offered, others = self.session.complaints("common"), self.session.complaints("other")
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
            if isinstance(meaning, Command) and meaning.word == "unknown" and self.session.standing.observations:
                self._nobody_knows = True
                return
            if isinstance(meaning, Command):
                self.asker.command(meaning, None, None)
                continue
            if typed and self.own_words(typed):
                return
            self.asker.say("Nothing in that is known here; put it in other words, or choose a number.")

    def own_words(self, typed: str) -> bool:
        """Record what is understood of a complaint in words; false when nothing is."""
        from diagnose.language.understanding import understand_further

        book = self.session.rule_book
        understanding = understand_further(typed, self.session.told_before(), book)
        for doubt in understanding.doubts:
            self.asker.say(f"? {doubt}")
        observations = understanding.observations()
        for item in understanding.understood:
            if item.finding:
                stands = "" if item.present else "not: "
                self.asker.say(f"understood: {stands}{book.findings[item.finding].title}")
            elif item.value is not None:
                quantity = book.quantities[item.quantity]
                self.asker.say(f"understood: {quantity.title} {quantity.shown(item.value)}")
        if observations:
            self.session.record(*observations)
        return bool(observations)

    def _competence(self) -> None:
        console = self.terminal.console
        screens.title(console, "What may you do here? (IEC 60050-195; local rules come first)")
        words = list(COMPETENCE_WORDS.values())
        meaning = self.asker.ask(words, None, None)
        if isinstance(meaning, Choice):
            self.session.say_competence(COMPETENCES[meaning.number])

    def _field(self, name: str) -> None:
        """Ask for a field of the data sheet."""
        console, quantity = self.terminal.console, self.session.rule_book.quantities[name]
        unit = f" in {quantity.unit}" if quantity.unit else ""
        screens.title(console, f"The next step needs to know: {quantity.title}{unit}")
        self.asker.say(f"where to find it: {quantity.where_to_find}")
        self.asker.say("unknown is an answer too" + ("; several: set them off with commas" if quantity.several else ""))
        several = partial(self._several, quantity) if quantity.several else None
        figure = None if quantity.choices else quantity
        meaning = self.asker.ask(quantity.choices, None, None, figure, on_unknown=name, otherwise=several)
        if isinstance(meaning, Choice):
            word = quantity.choices[meaning.number]
            self.session.fill_in(name, (word,) if quantity.several else word)
        elif isinstance(meaning, Figure):
            self.session.fill_in(name, meaning.value)

    def _several(self, quantity: Quantity, typed: str) -> bool:
        """Take several answers at once, by number or word; false when one of them is none.

        Raises Again once they are kept.
        """
        chosen = [read_answer(part, quantity.choices) for part in typed.split(",")]
        numbers = [each.number for each in chosen if isinstance(each, Choice)]
        if len(numbers) < len(chosen):
            return False
        self.session.fill_in(quantity.id, tuple(quantity.choices[number] for number in dict.fromkeys(numbers)))
        raise Again

    # Steps ---------------------------------------------------------------------------------------------------

    def _step(self) -> bool:
        session, console = self.session, self.terminal.console
        diagnosis = session.diagnosis()
        if not self._first:
            self._first = self._first_ranking()
        proposal = session.proposal(diagnosis)
        screens.plant(console, session.rule_book, self._plant(), session.journal.head.case)
        now = {cause.id: cause.probability for cause in diagnosis.causes}
        if now != session.before and proposal.kind != "done":
            screens.ranking(console, diagnosis, session.before)
            screens.mind(console, diagnosis, session.rule_book)
            session.before = now
        if proposal.kind in ("done", "escalate"):
            return self._end(diagnosis, proposal)
        for name in session.open_fields(proposal):
            self._field(name)
            raise Again
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
        self._cautions(proposal)
        if self.session.to_acknowledge(proposal):
            screens.footer(console)
            self.asker.heed(diagnosis, proposal)
            self.session.acknowledge(proposal)
        screens.steps(console, book, proposal)

    def _cautions(self, proposal: Proposal) -> None:
        """Show the cautions of a step, gravest first; before a screen is full, wait until it is read."""
        console, book = self.terminal.console, self.session.rule_book
        read = {each.caution for each in self.session.standing.acknowledged}
        used = ABOVE_CAUTIONS
        for name, unless in proposal.cautions:
            show = partial(screens.caution, console, book, name, unless, name not in read)
            lines = screens.height(console, show)
            if self.terminal.person and used + lines > console.height - BELOW_CAUTIONS:
                self.terminal.ask("Enter for more > ")
                used = 0
            show()
            used += lines

    def _do_check(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        check = self.session.rule_book.checks[proposal.id]
        outcome, readings = self._result(check, proposal.read_also, diagnosis, proposal)
        self.session.answer(check, outcome, readings)

    def _result(
        self, check: Check, also: Sequence[str], diagnosis: Diagnosis, proposal: Proposal
    ) -> tuple[str, dict[str, Reading]]:
        """Ask for a check's readings or its outcome; return the outcome's words (or none) and the readings."""
        console, book = self.terminal.console, self.session.rule_book
        readings: dict[str, Reading] = {}
        screens.footer(console)
        for name in also:
            one = partial(screens.reading, console, book.quantities[name], "")
            meaning = self.asker.ask([], diagnosis, proposal, book.quantities[name], show=one)
            if isinstance(meaning, Figure):
                readings[name] = meaning.value
        answers = [outcome.answer for outcome in check.outcomes]
        quantity = book.quantities[check.measures] if check.measures else None
        expected = self._expected(check, readings)

        def show() -> None:
            if quantity:
                screens.reading(console, quantity, expected)
            screens.choices(console, answers)
            screens.takes(console, check)

        otherwise = partial(self._take_readings, check, proposal) if check.takes else None
        meaning = self.asker.ask(answers, diagnosis, proposal, quantity, show=show, otherwise=otherwise)
        if isinstance(meaning, Choice):
            outcome = check.outcomes[meaning.number]
            if outcome.means:
                self.asker.say(f"That means: {outcome.means}")
            return outcome.answer, readings
        if isinstance(meaning, Figure) and quantity:
            readings[quantity.id] = meaning.value
            for because in self.session.said_of(readings, quantity.id)[:MOST_SAID]:
                self.asker.say(f"That means: {because}")
        return "", readings

    def _take_readings(self, check: Check, proposal: Proposal, typed: str) -> bool:
        """Analyse readings that were typed, or the file that was named, in place of an answer; false for anything else.

        Raises Again once their findings are kept.
        """
        from diagnose.analyses.answering import analyse_typed, may_be_readings

        if not may_be_readings(typed):
            return False
        try:
            analysed = analyse_typed(self.session.rule_book, self.session.standing.data_sheet, check, typed)
        except DiagnoseError as error:
            self.asker.say(f"? {error}")
            return True
        screens.analysed(self.terminal.console, self.session.rule_book, analysed)
        self.session.take_readings(check, analysed)
        raise Again

    def _expected(self, check: Check, readings: dict[str, Reading]) -> str:
        value = self.session.expected(check, readings)
        if value is None:
            return ""
        quantities = self.session.rule_book.quantities
        expected, measured = quantities[check.expect], quantities.get(check.measures)
        return expected.shown(value) + _tolerance(expected, measured, value)

    def _do_remedy(self, diagnosis: Diagnosis, proposal: Proposal) -> None:
        console, book = self.terminal.console, self.session.rule_book
        remedy = book.remedies[proposal.id]
        screens.footer(console)
        words = ["done", "could not be done"]
        meaning = self.asker.ask(words, diagnosis, proposal)
        if isinstance(meaning, Choice) and meaning.number == 1:
            self.session.set_aside(proposal, "not done")
            return
        self._prove(remedy, diagnosis, proposal)

    def _prove(self, remedy: Remedy, diagnosis: Diagnosis, proposal: Proposal) -> None:
        """Have the check made that proves a remedy, then ask whether it cured."""
        session, console, book = self.session, self.terminal.console, self.session.rule_book
        check = book.checks[remedy.proved_by]
        proof = session.proof(remedy)
        screens.title(console, f"Now prove it: {check.title}")
        self._cautions(proof)
        if session.to_acknowledge(proof):
            self.asker.heed(diagnosis, proposal)
            session.acknowledge(proof)
        screens.steps(console, book, proof)
        readings: dict[str, Reading] = {}
        if check.measures:
            _, readings = self._result(check, proof.read_also, diagnosis, proposal)
        screens.title(console, "Did it cure the fault?")
        words = list(VERDICTS.values())
        meaning = self.asker.ask(words, diagnosis, proposal)
        if isinstance(meaning, Choice):
            session.tried(remedy, list(VERDICTS)[meaning.number], readings)

    # The end -------------------------------------------------------------------------------------------------

    def _end(self, diagnosis: Diagnosis, proposal: Proposal) -> bool:
        console, book, standing = self.terminal.console, self.session.rule_book, self.session.standing
        if proposal.kind == "done":
            last = next(each for each in reversed(standing.observations) if isinstance(each, RemedyTried))
            screens.put_right(console, book, book.remedies[last.remedy], diagnosis)
        else:
            unlikely = [
                cause for cause in diagnosis.causes if cause.probability < 0.01 and self._first.get(cause.id, 0) >= 0.03
            ]
            screens.hand_over(console, book, diagnosis, proposal, unlikely, standing.notes)
        self._put_back(diagnosis)
        self.asker.say(f"Kept as case {self.session.journal.head.case}:")
        console.print(f"  {self.session.journal.path}", soft_wrap=True)
        return True

    def _put_back(self, diagnosis: Diagnosis) -> None:
        """Show what is to be put back, its cautions first."""
        back = self.session.putting_back()
        if not back.changes:
            return
        screens.title(self.terminal.console, "Before you leave: put the plant back")
        self._cautions(back)
        if self.session.to_acknowledge(back):
            self.asker.heed(diagnosis, back)
            self.session.acknowledge(back)
        screens.steps(self.terminal.console, self.session.rule_book, back)

    def _first_ranking(self) -> dict[str, float]:
        """Return how probable each cause was on the complaint alone."""
        first = self.session.diagnosis(observations=1)
        return {cause.id: cause.probability for cause in first.causes}


def _tolerance(expected: Quantity, measured: Quantity | None, value: float) -> str:
    """Return how far a reading may lie from an expected value (SI): limits of meter and instrument together."""
    meter = expected.limits_of(value) / expected.si_factor
    instrument = measured.limits_of(value) / expected.si_factor if measured else 0.0
    if not meter and not instrument:
        return ""
    parts = f" (meter {meter:.2g}, instrument {instrument:.2g})" if meter and instrument else ""
    return f" ± {math.hypot(meter, instrument):.2g}{parts}"


def interview(session: Session, terminal: Terminal, report: bytes = b"") -> int:
    """Run an interview, from a report if there is one; return the exit status.

    Raises BadInput when an answer cannot be saved, or the report is empty or no text.
    """
    running = Interview(session, terminal, Asker(session, terminal))
    if report:
        running.own_words(clean(report))
    return running.run()
