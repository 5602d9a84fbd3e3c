"""A case as the protocol sees it: what its events amount to, the diagnosis, and the step in hand.

Everything is worked out when it is asked for, and once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import msgspec

from diagnose.cases.dangers_told import Ended
from diagnose.cases.events import Acknowledgement, Case, DangerMentioned, PlantChanged
from diagnose.cases.standing import Standing, standing_of
from diagnose.observations import CheckDone, FindingSeen, Measurement, Observation, RemedyTried, State, WordEvidence
from diagnose.reasoning.dangers import Dangers
from diagnose.reasoning.evidence import asked_in_place, told_fields
from diagnose.reasoning.proposal import Proposal, proposal_for
from diagnose.reasoning.steps import Way, within
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.competence import COMPETENCES, Competence
from diagnose.rule_book.plant import GRAVE, as_it_can_stand
from diagnose.rule_book.quantities import DataSheet, Value
from diagnose.rule_book.work import Check, Remedy, Step

if TYPE_CHECKING:  # the first question must not wait for the numerics
    from diagnose.reasoning.diagnosis import Diagnosis
    from diagnose.reasoning.engine import Engine


MOST_NEAR = 4
"""So many complaints are offered first because they are near to what was told."""


class Situation:
    """Where a case stands."""

    def __init__(self, engine: Engine, case: Case) -> None:
        self.engine = engine
        self.case = case

    @property
    def rule_book(self) -> RuleBook:
        """The rule book."""
        return self.engine.rule_book

    @cached_property
    def standing(self) -> Standing:
        """What the events amount to."""
        standing = standing_of(self.case)
        begun, states = standing.begun, self.rule_book.states
        if begun is None:
            return standing
        known = tuple(each for each in begun.changes if each[0] in states and each[1] in states[each[0]].values)
        return replace(standing, begun=msgspec.structs.replace(begun, changes=known))

    @cached_property
    def data_sheet(self) -> DataSheet:
        """What is known of the meter, from its sheet and from what was reported."""
        return told_fields(self.rule_book, self.standing.data_sheet, self.standing.observations)

    @cached_property
    def plant(self) -> dict[str, str]:
        """The state the plant is in."""
        return self.standing.state.standing(self.rule_book)

    @cached_property
    def diagnosis(self) -> Diagnosis:
        """The diagnosis of everything observed so far."""
        state = msgspec.structs.replace(self.standing.state, first=self.first_after_hazards)
        return self._without_what_was_in_vain(state) if self.standing.in_vain else self._of(state)

    def _of(self, state: State) -> Diagnosis:
        return self._diagnose(self.observations, state)

    @cached_property
    def observations(self) -> tuple[Observation, ...]:
        """What was observed, with its words weighed by this rule book where a case keeps the words alone."""
        return tuple(
            self._weighed(each) if isinstance(each, WordEvidence) and each.report and not each.decibans else each
            for each in self.standing.observations
        )

    def _weighed(self, words: WordEvidence) -> WordEvidence:
        from diagnose.reading import words_weighed  # reads words: the first question need not wait for that

        return words_weighed(self.engine, words.report)

    def _without_what_was_in_vain(self, state: State) -> Diagnosis:
        """Return the diagnosis with remedies set aside that did not cure, and with the proof just made.

        What was tried once is proposed once more where nothing else is left: it may not have been done right.
        """
        book, tried = self.rule_book, self.standing.in_vain
        proofs = {book.remedies[tried[-1]].proved_by} if tried[-1] in book.remedies and self._nothing_since else set()
        found = self._of(msgspec.structs.replace(state, set_aside=(*state.set_aside, *tried, *proofs)))
        once = [name for name in tried if tried.count(name) == 1]
        if found.proposals.next.kind != "escalate" or not once:
            return found
        again = [name for name in tried if name not in once]
        return self._of(msgspec.structs.replace(state, set_aside=(*state.set_aside, *again, *proofs)))

    @property
    def _nothing_since(self) -> bool:
        """Whether the last thing that was done is a remedy."""
        done = [each for each in self.standing.observations if isinstance(each, CheckDone | RemedyTried)]
        return bool(done) and isinstance(done[-1], RemedyTried)

    @cached_property
    def first_after_hazards(self) -> tuple[str, ...]:
        """Checks that come before any other step: a hazard that asks for them is over, and they were not made since."""
        names: dict[str, None] = {}
        for each in self.ended_hazards:
            away = self.rule_book.findings[each.finding].keep_away
            due = away.afterwards if away and not each.misread else ()
            names |= dict.fromkeys(name for name in due if name not in each.checked)
        return tuple(names)

    @property
    def before_all(self) -> bool:
        """Whether a hazard asks for the next step before any other, a proof and an end."""
        return bool(self.first_after_hazards) and self.diagnosis.proposals.before_all

    @cached_property
    def ended_hazards(self) -> tuple[Ended, ...]:
        """Hazards that were said to be over, as far as the rule book knows them."""
        return tuple(each for each in self.standing.ended if each.finding in self.rule_book.findings)

    @cached_property
    def first_ranking(self) -> dict[str, float]:
        """How probable each cause was after the first thing reported."""
        return self.ranking_after(1)

    def ranking_after(self, number: int) -> dict[str, float]:
        """Return how probable each cause was after so many observations."""
        told = self.observations[:number]
        return {cause.id: cause.probability for cause in self._diagnose(told, State()).causes}

    def _diagnose(self, observations: tuple[Observation, ...], state: State) -> Diagnosis:
        from diagnose.reasoning.diagnosis import remembered

        return remembered(self.engine, self.data_sheet, observations, state)

    @cached_property
    def proposal(self) -> Proposal:
        """The step that the person chose, else the one that is proposed."""
        proposals = self.diagnosis.proposals
        offered = (*proposals.checks, *proposals.remedies)
        return next((each for each in offered if each.id == self.standing.chosen), proposals.next)

    @cached_property
    def comes_and_goes(self) -> bool:
        """Whether the fault comes and goes."""
        finding = self.rule_book.settings.intermittent
        return bool(finding) and self.diagnosis.findings.get(finding) is True

    @cached_property
    def complained(self) -> bool:
        """Whether it is known what is wrong, not only how the meter stands and what went before."""
        observations = self.standing.observations
        if not observations or self.standing.no_complaint:
            return bool(observations)
        findings = self.rule_book.findings
        said = [each for each in observations if isinstance(each, FindingSeen) and each.present]
        if any(each.finding in findings and findings[each.finding].says_what_is_wrong for each in said):
            return True
        if any(isinstance(each, CheckDone | RemedyTried) for each in observations):
            return True
        if not any(isinstance(each, Measurement) for each in observations):
            return False
        concluded = self.diagnosis.findings
        return any(present and findings[name].says_what_is_wrong for name, present in concluded.items())

    @property
    def not_proved(self) -> tuple[str, ...]:
        """Remedies that were carried out without a proof, that which still waits for it last."""
        waiting = self.standing.unproved
        proved = self.standing.not_proved
        return (*proved, waiting) if waiting in self.rule_book.remedies and waiting not in proved else proved

    @property
    def complaining(self) -> bool:
        """Whether what is said now says what the complaint is about; later on single words say nothing."""
        return not self.complained or self.standing.fault_remains

    @cached_property
    def told_before(self) -> str:
        """What was said of the complaint in words so far; after a remedy that helped it begins again."""
        told = ""
        for each in self.standing.observations:
            if isinstance(each, RemedyTried) and each.verdict != "not cured":
                told = ""
            elif isinstance(each, WordEvidence):
                told = each.report
        return told

    @cached_property
    def hazards(self) -> tuple[str, ...]:
        """Hazards that were told, or follow from what was, and are not over.

        Only somebody who says that one is over lifts it: not a later denial, for a nose gets used to gas.
        """
        findings = self.rule_book.findings
        if not self.standing.observations or not any(each.keep_away for each in findings.values()):
            return ()
        now = (name for name, present in self.diagnosis.findings.items() if present)
        names = dict.fromkeys((*self.standing.affirmed, *now))
        over = self.standing.cleared
        return tuple(name for name in names if name in findings and findings[name].keep_away and name not in over)

    @cached_property
    def danger_in_doubt(self) -> DangerMentioned | None:
        """The first words that may tell of a danger, while nobody has said whether they do.

        Those of a hazard that stops all work already are not asked about.
        """
        known = self.rule_book.findings
        for each in self.standing.dangers_mentioned:
            names = tuple(name for name in each.findings if name in known)
            if names and not set(names) & set(self.hazards):
                return msgspec.structs.replace(each, findings=names)
        return None

    @cached_property
    def near_complaints(self) -> tuple[str, ...]:
        """Complaints that are nearest to what was told in words, the nearest first; they were not understood so."""
        told = " ".join(each.text for each in self.standing.texts)
        return self.engine.complaint_words.nearest(told, MOST_NEAR) if told else ()

    @cached_property
    def still_told(self) -> tuple[str, ...]:
        """What was reported as wrong and no remedy that cured accounts for; of results, those told in words."""
        findings = self.rule_book.findings
        observations = self.standing.observations
        told = {each.finding for each in observations if isinstance(each, FindingSeen) and each.present and each.heard}
        return tuple(
            name
            for name, present in self.diagnosis.findings.items()
            if present and (findings[name].kind == "symptom" or (name in told and findings[name].says_what_is_wrong))
        )

    def plant_changes(self, changed: Iterable[tuple[str, str]]) -> tuple[PlantChanged, ...]:
        """Return changes of the plant as events, along with what can no longer hold after them."""
        changed = tuple(changed)
        stands = {**self.plant, **dict(changed)}
        held = as_it_can_stand(self.rule_book.states, stands)
        lost = ((name, value) for name, value in held.items() if value != stands[name])
        return tuple(PlantChanged(state=state, value=value) for state, value in (*changed, *lost))

    @cached_property
    def states_in_doubt(self) -> tuple[str, ...]:
        """States that a hazard has changed, or somebody may have meanwhile, and whose value nobody has said since."""
        findings, states = self.rule_book.findings, self.rule_book.states
        away = [findings[name].keep_away for name in self.standing.just_over if name in findings]
        named = {name for each in away if each for name in each.changes} - self.standing.states_said
        return tuple(sorted(named & states.keys(), key=lambda name: states[name].order))

    @cached_property
    def begun_changes(self) -> tuple[tuple[str, str], ...]:
        """Changes of the step that was left in the middle.

        After a hazard not of states whose value was said since, nor of what only goes with others: nothing that may
        have been proved dead before it counts as that.
        """
        begun = self.standing.begun
        if begun is None or not self.standing.just_over:
            return begun.changes if begun else ()
        tied = {name for name, state in self.rule_book.states.items() if state.goes_with}
        return tuple(each for each in begun.changes if each[0] not in self.standing.states_said | tied)

    @cached_property
    def plant_may_be(self) -> dict[str, tuple[str, ...]]:
        """How each state may stand: as it is known to, and as a step that was left in the middle may have changed it.

        Of what is in doubt after a hazard nothing is known. Of what only goes with other states (proved dead) nobody is
        told by hearsay.
        """
        changed, states = dict(self.begun_changes), self.rule_book.states
        free = (name for name, state in states.items() if not state.goes_with)
        return {
            name: states[name].values
            if name in self.states_in_doubt
            else tuple(dict.fromkeys((self.plant[name], changed.get(name, self.plant[name]))))
            for name in free
        }

    def who_may_say(self, state: str, value: str) -> Competence:
        """Return who may say that a state has this value: anybody if that is less safe, else who may bring it about."""
        known = self.rule_book.states[state]
        if value in (known.initial, *known.taken_at_once, self.plant[state]):
            return "ordinary"
        return max((each.competence for each in known.changes if each.to == value), key=COMPETENCES.index)

    # Steps -----------------------------------------------------------------------------------------------------

    def may_say(self, changes: Iterable[tuple[str, str]]) -> bool:
        """Tell whether whoever is there may say that the plant stands so."""
        competence = self.standing.state.competence
        return all(within(competence, self.who_may_say(state, value)) for state, value in changes)

    def title_of(self, step: str) -> str:
        """Return the title of a check or remedy; of one that the rule book does not know (any more), its name."""
        known = {**self.rule_book.checks, **self.rule_book.remedies}
        return known[step].title if step in known else step

    def step(self, proposal: Proposal) -> Check | Remedy | None:
        """Return the check or remedy of a proposal."""
        return self.rule_book.checks.get(proposal.id) or self.rule_book.remedies.get(proposal.id)

    @cached_property
    def dangers(self) -> Dangers:
        """What is dangerous at this meter."""
        return self.engine.dangers(self.data_sheet, self.standing.state.not_known)

    def way(self, step: Step) -> Way:
        """Return the changes of the plant that a step needs from where it stands."""
        return self.dangers.way(step, self.plant)

    def may_do(self, proposal: Proposal) -> bool:
        """Tell whether whoever is there may do a step: able to, and it brings up nothing that they avoid."""
        state = self.standing.state
        avoided = any(name in state.avoided for name, _ in proposal.cautions)
        return within(state.competence, proposal.competence) and not avoided

    def to_heed(self, proposal: Proposal) -> tuple[str, ...]:
        """Return the grave cautions of a step that nobody has heeded yet in this case, or not for what is new."""
        cautions = self.rule_book.cautions
        grave = ((name, unless) for name, unless in proposal.cautions if cautions[name].signal in GRAVE)
        return tuple(name for name, unless in grave if not self._heeded(name, unless, proposal))

    def _heeded(self, name: str, unless: tuple[str, ...], proposal: Proposal) -> bool:
        """Tell whether a caution was heeded: for this step, or before if no change on the way brings it up anew."""
        if not self.was_read(name, unless):
            return False
        return (name, proposal.id) in self.standing.heeded or name not in proposal.anew

    def was_read(self, name: str, unless: tuple[str, ...]) -> bool:
        """Tell whether a caution was read in this case; one that was only possible and is certain now was not."""
        return name in self.standing.read_before and (bool(unless) or name not in self.standing.read_as_possible)

    def reading_of(self, proposal: Proposal) -> tuple[Acknowledgement, ...]:
        """Return that the cautions of a step were read, except for those already known to have been."""
        to_heed = self.to_heed(proposal)
        return tuple(
            Acknowledgement(caution=name, step=proposal.id, unless=unless)
            for name, unless in proposal.cautions
            if name in to_heed or not self.was_read(name, unless)
        )

    def proof(self, remedy: Remedy) -> Proposal:
        """Return the check that proves a remedy, as a step from the plant's present state.

        The complaint is gone only if it is gone in service: a state that the check leaves open, which does not matter
        when looking for a cause, is brought back to where it starts. So no meter is proved without its supply.
        """
        check = self.rule_book.checks[remedy.proved_by]
        # What only goes with how other states stand (proved dead) follows from these.
        in_service = {name: (each.initial,) for name, each in self.rule_book.states.items() if not each.goes_with}
        whole = msgspec.structs.replace(check, needs={**in_service, **check.needs})
        if self.dangers.forbidden(whole, self.way(whole)):
            whole = check
        return proposal_for(self.dangers, "check", whole, self.plant, "proves the remedy")

    @cached_property
    def disturbed(self) -> tuple[str, ...]:
        """What steps left changed and nobody has put back, as far as the rule book knows it."""
        return tuple(name for name in self.standing.disturbed if name in self.rule_book.disturbances)

    def put_back(self) -> Proposal:
        """Return the step that brings the plant back to where its states start."""
        needs: dict[str, tuple[str, ...]] = {name: (state.initial,) for name, state in self.rule_book.states.items()}
        step = Step(id="put-back", title="Put the plant back", steps=(), minutes=0.0, needs=needs)
        return proposal_for(self.dangers, "done", step, self.plant, "the work is over")

    def open_fields(self, proposal: Proposal) -> tuple[str, ...]:
        """Return the data-sheet fields that a step depends on, neither known nor asked for; those of safety first."""
        return tuple(dict.fromkeys((*self.fields_of_safety(proposal), *self._to_ask(proposal.ask_first))))

    def fields_of_safety(self, proposal: Proposal) -> tuple[str, ...]:
        """Return every field that cautions or bans depend on, neither known nor asked for, if this step does on one.

        They are asked for together and once, whatever step comes later.
        """
        banning = self._to_ask(name for name, _ in proposal.hangs_on)
        if not banning and not self._to_ask(name for _, unless in proposal.cautions for name in unless):
            return ()
        return tuple(dict.fromkeys((*self.open_safety, *banning)))

    @cached_property
    def open_safety(self) -> tuple[str, ...]:
        """Every field that a caution or a ban of some step depends on, neither known nor asked for."""
        items = [item for each in self.rule_book.cautions.values() for item in (*each.comes_up, *each.forbids)]
        names = self.engine.forbidding_fields.union(*items)
        return self._to_ask(name for name in self.rule_book.data_sheet_fields() if name in names)

    def _to_ask(self, names: Iterable[str]) -> tuple[str, ...]:
        """Return what is still to be asked of these fields; in place of a blank one, what alone would settle it."""
        known = self.standing.asked | self.data_sheet.keys()
        blank = (asked_in_place(self.rule_book, self.data_sheet, name) for name in names if name not in known)
        return tuple(dict.fromkeys(name for name in blank if name not in known))

    def unread_about(self, fields: tuple[str, ...]) -> tuple[str, ...]:
        """Return what was said in words, was not understood, and may be about one of these data-sheet fields."""
        unread = dict.fromkeys(part for text in self.standing.texts for part in text.not_understood)
        # Only for words: who has written none must not wait until all the words of the rule book are at hand.
        return tuple(part for part in unread if any(self.engine.lexicon.speaks_of(part, name) for name in fields))

    def expected(self, check: Check) -> float | None:
        """Return what a check's reading should be, by the data sheet and the readings just taken at it."""
        if not check.expect:
            return None
        taken = {name: value for name, value in self.standing.pending_readings.items() if value is not None}
        values: dict[str, Value] = {**self.diagnosis.values, **taken}
        if self.rule_book.quantities[check.expect].calculate:
            values.pop(check.expect, None)  # worked out anew from the readings just taken
        value = with_calculated(self.rule_book, values).get(check.expect)
        return float(value) if isinstance(value, int | float) else None


def measured(readings: dict[str, Value | None]) -> list[Measurement]:
    """Return readings as observations, without those that could not be taken."""
    return [Measurement(quantity=name, value=value) for name, value in readings.items() if value is not None]
