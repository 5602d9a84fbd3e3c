"""Watches a whole case, prompt by prompt: an independent judge of whatever the protocol puts to somebody.

It knows states, hazards and persons, and reads the events of the case for itself: how the plant stands, who is there,
what was heeded, what was told of the meter. It shares no code with what plans steps nor with what the protocol makes
of events, so that a mistake there does not hide itself here.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.authoring.safety_watch import Violation, Watch, settled
from diagnose.cases import events as happened
from diagnose.cases.events import Case, Event
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.protocol.prompts import (
    HandOverPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
)
from diagnose.protocol.putting_back import PLANT
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.quantities import AND_MORE, Value
from diagnose.rule_book.work import Step


class Known:
    """What the judge makes of the events of a case that still count."""

    def __init__(self, rule_book: RuleBook, case: Case) -> None:
        self.rule_book = rule_book
        self.stands = {name: state.initial for name, state in rule_book.states.items()}
        self.competence: Competence = "ordinary"
        self.sheet: dict[str, Value] = dict(case.data_sheet)
        self.reader: Competence = COMPETENCES[-1]
        self.heeded: set[str] = set()
        self.cured: set[str] = set()
        self.disturbed: set[str] = set()
        self.hazards: set[str] = set()
        self.unproved: set[str] = set()
        self.avoided: set[str] = set()
        self.first: set[str] = set()
        self.asked_for: set[str] = set()
        self.unsaid: set[str] = set()
        self._told_in: dict[str, int] = {}
        taken_back = {each.event.turn for each in case.entries if isinstance(each.event, happened.Undo)}
        for entry in case.entries:
            self._caution(entry.event)
            self._disturbance(entry.event, entry.turn not in taken_back)
            if entry.turn not in taken_back:
                self._avoid(entry.event)
                self._hazard(entry.event, entry.turn)
                self._afterwards(entry.event)
                self._take(entry.event)
        self.sheet = settled(rule_book, self.sheet)

    def _caution(self, event: Event) -> None:
        """What was read stays read, taken back or not; not after a shift, nor where somebody abler comes."""
        if isinstance(event, happened.Acknowledgement):
            self.heeded.add(event.caution)
        elif isinstance(event, happened.Resumed):
            self.heeded.clear()
        elif isinstance(event, happened.CompetenceSaid):
            if COMPETENCES.index(event.competence) > COMPETENCES.index(self.reader):
                self.heeded.clear()
            self.reader = event.competence

    def _disturbance(self, event: Event, counts: bool) -> None:
        """A lead that was lifted stays lifted, whatever is taken back, until somebody says that it is back."""
        if isinstance(event, happened.Disturbed):
            self.disturbed |= set(event.what)
        elif isinstance(event, happened.Restored) and counts:
            self.disturbed -= set(event.what)

    def _avoid(self, event: Event) -> None:
        """What somebody must stay away from holds until somebody else has come, or all is to be offered again."""
        if isinstance(event, happened.DangerAvoided):
            self.avoided.add(event.caution)
        no_less = isinstance(event, happened.CompetenceSaid) and (
            COMPETENCES.index(event.competence) >= COMPETENCES.index(self.competence)
        )
        if no_less or isinstance(event, happened.WentOn):
            self.avoided.clear()

    def _hazard(self, event: Event, turn: int) -> None:
        """A hazard that was told ends when somebody says that it is over, not when it is denied later."""
        if isinstance(event, happened.Cleared):
            self.hazards.discard(event.finding)
        elif isinstance(event, FindingSeen):
            finding = self.rule_book.findings.get(event.finding)
            if finding is not None and finding.keep_away and event.present:
                self.hazards.add(event.finding)
                self._told_in[event.finding] = turn
            elif self._told_in.get(event.finding) == turn:
                self.hazards.discard(event.finding)

    def _afterwards(self, event: Event) -> None:
        """What must be looked at after a hazard comes first, until it was made or somebody could not do it.

        What somebody could not do may be asked for again at any time.
        """
        if isinstance(event, happened.Cleared) and not event.misread:
            finding = self.rule_book.findings.get(event.finding)
            asked_for = set(finding.keep_away.afterwards) if finding and finding.keep_away else set()
            self.first |= asked_for
            self.asked_for |= asked_for
            self.unsaid |= set(finding.keep_away.changes) if finding and finding.keep_away else set()
        elif isinstance(event, CheckDone):
            self.first.discard(event.check)
        elif isinstance(event, happened.StepMeasured | happened.SetAside):
            self.first.discard(event.step)
        elif isinstance(event, happened.NoTool | happened.DangerAvoided):
            self.first.clear()

    def _take(self, event: Event) -> None:
        if isinstance(event, happened.PlantChanged):
            self.stands[event.state] = event.value
            self.unsaid.discard(event.state)
            self._holds_no_more()
        elif isinstance(event, happened.CompetenceSaid):
            self.competence = event.competence
        elif isinstance(event, happened.SheetFilled) and event.value is not None:
            self.sheet[event.field] = event.value
        elif isinstance(event, Measurement):
            self._told(event)
        elif isinstance(event, happened.RemedyDone):
            self.unproved.add(event.remedy)
        elif isinstance(event, RemedyTried):
            self.unproved.discard(event.remedy)
            self.cured |= {event.remedy} if event.verdict == "cured" else set()

    def _holds_no_more(self) -> None:
        """What goes with how other states stand (proved dead) is over as soon as one of them changes."""
        for name, state in self.rule_book.states.items():
            others = state.goes_with.get(self.stands[name], {})
            if any(self.stands[other] not in words for other, words in others.items()):
                self.stands[name] = state.initial

    def _told(self, told: Measurement) -> None:
        """Who speaks of one liquid does not exclude another where a meter may have several."""
        quantity = self.rule_book.quantities.get(told.quantity)
        if quantity is None or not quantity.of_data_sheet:
            return
        if not quantity.several:
            self.sheet[told.quantity] = told.value
            return
        words = [*_words(self.sheet.get(told.quantity)), *_words(told.value)]
        others = [word for word in dict.fromkeys(words) if word not in (*quantity.alone, AND_MORE)]
        more = (AND_MORE,) if quantity.may_be_more and others else ()
        self.sheet[told.quantity] = (*others, *more) if others else _words(told.value)

    def fits(self, step: Step) -> bool:
        """Tell whether the meter, as far as it is known, does not rule a step out as one for other meters."""
        told = ((_words(self.sheet.get(field)), words) for field, words in step.applies.items())
        return all(not known or bool({*words, AND_MORE} & set(known)) for known, words in told)


def _words(value: Value | None) -> tuple[str, ...]:
    return () if value is None else tuple(map(str, value)) if isinstance(value, tuple) else (str(value),)


def judge(rule_book: RuleBook, case: Case, prompt: Prompt) -> list[Violation]:
    """Return what is wrong with putting this prompt to the person of this case."""
    known = Known(rule_book, case)
    return [*_at_steps(known, prompt), *_at_the_end(known, prompt)]


def step_shown(rule_book: RuleBook, prompt: Prompt) -> Step | None:
    """Return the step whose doings a prompt shows, None where it shows none."""
    if isinstance(prompt, PutBackPrompt):
        return put_back_step(rule_book, prompt)
    if isinstance(prompt, StepsPrompt):
        return rule_book.remedies[prompt.proposal.id]
    if isinstance(prompt, QuestionPrompt) and prompt.about != "check":
        return None
    if isinstance(prompt, QuestionPrompt | ReadingPrompt | ProofPrompt) and prompt.proposal:
        return rule_book.checks[prompt.proposal.id]
    return None


def put_back_step(rule_book: RuleBook, prompt: PutBackPrompt) -> Step:
    """Return what a prompt has put back as one step: what was disturbed, and at the end the plant."""
    items = [rule_book.disturbances[name] for name in prompt.disturbed]
    needs: dict[str, tuple[str, ...]] = {state: words for each in items for state, words in each.needs.items()}
    if prompt.proposal.id == PLANT:
        needs = {name: (each.initial,) for name, each in rule_book.states.items()}
    meets = tuple(word for each in items for word in each.meets)
    competence: Competence = max((each.competence for each in items), key=COMPETENCES.index, default="ordinary")
    return Step(id="put-back", title="", steps=(), minutes=0.0, needs=needs, meets=meets, competence=competence)


def _at_steps(known: Known, prompt: Prompt) -> Iterator[Violation]:
    step = step_shown(known.rule_book, prompt)
    if step is None:
        return
    proposal = prompt.proposal  # type: ignore[union-attr]
    assert proposal is not None
    proof = isinstance(prompt, ProofPrompt) or bool(getattr(prompt, "proves", ""))
    watch = Watch(known.rule_book, known.sheet, known.competence, unknown_counts=True, avoided=known.avoided)
    yield from watch.violations(known.stands, proposal, step, "proof" if proof else "", known.heeded)
    ends = {**known.stands, **dict(proposal.changes), **dict(proposal.leaves)}
    own = set(getattr(step, "disturbs", ()))
    if not isinstance(prompt, PutBackPrompt):
        for name in sorted(known.disturbed - own):
            for state, words in known.rule_book.disturbances[name].holds.items():
                if ends[state] not in words:
                    text = f"{proposal.kind} {step.id}: {state} {ends[state]} while {name} is not put back"
                    yield Violation("out of state", text)
    first = sorted(name for name in known.first if known.fits(known.rule_book.checks[name]))
    if first and not isinstance(prompt, PutBackPrompt) and step.id not in known.asked_for:
        yield Violation("in spite of a hazard", f"{proposal.kind} {step.id}: before {', '.join(first)}")
    for name in sorted(known.unsaid):
        yield Violation("in spite of a hazard", f"{proposal.kind} {step.id}: nobody knows how {name} stands after it")
    for name in sorted(known.hazards):
        yield Violation("in spite of a hazard", f"{proposal.kind} {step.id}: {name} was told and is not over")


def _at_the_end(known: Known, prompt: Prompt) -> Iterator[Violation]:
    """Nothing stays open that whoever takes over is not told of."""
    if not isinstance(prompt, HandOverPrompt):
        return
    named = {state for state, _ in prompt.left}
    for name, state in known.rule_book.states.items():
        if known.stands[name] != state.initial and name not in named:
            yield Violation("left open", f"{prompt.ending}: {name} is left {known.stands[name]} and not named")
    for name in sorted(known.disturbed - set(prompt.disturbed)):
        yield Violation("left open", f"{prompt.ending}: {name} was not put back, and is not named")
    ends = {cause.remedy for cause in known.rule_book.causes.values()}
    for remedy in sorted(known.cured - ends):
        lasting = {each.id for each in known.rule_book.remedies.values() if each.interim == remedy}
        if lasting and not lasting & {*prompt.put_off, *known.cured}:
            yield Violation("left open", f"{prompt.ending}: {remedy} does for now, and what lasts is not named")
    for remedy in sorted(known.unproved - set(prompt.not_proved)):
        yield Violation("left open", f"{prompt.ending}: {remedy} was carried out, not proved, and is not named")
