"""The protocol as a state machine: from any prompt, any reply, any number of *back*."""

from __future__ import annotations

from typing import Any

import msgspec
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from diagnose.cases.events import Acknowledgement, Case, Disturbed, Entry, Note, Restored, StepBegun, TextRead, Undo
from diagnose.cases.standing import standing_of
from diagnose.observations import FindingSeen, Measurement
from diagnose.protocol import replies
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import (
    CautionPrompt,
    HandOverPrompt,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
)
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.rule_book.plant import GRAVE
from tests.protocol.lamps import lamp_engine
from tests.protocol.walking import any_reply

SURVIVE = Acknowledgement | Disturbed | Note | StepBegun | TextRead | Undo


class Walk(RuleBasedStateMachine):
    """A walk through an interview, with replies of all kinds."""

    def __init__(self) -> None:
        super().__init__()
        self.engine = lamp_engine()
        self.case = Case(name="walk")
        self.history: list[Case] = []
        self.read: set[str] = set()

    @initialize()
    def begin(self) -> None:
        """Start with nothing told."""
        self.prompt: Prompt = prompt_of(self.engine, self.case)

    @rule(data=st.data())
    def reply(self, data: Any) -> None:
        """Give any reply; it is answered by events, by a remark, or both."""
        reply = data.draw(any_reply(self.engine, self.prompt))
        turn = respond(self.engine, self.case, self.prompt, reply)
        assert turn.events or turn.remarks, f"{reply} at {self.prompt} was dropped without a word"
        if isinstance(self.prompt, CautionPrompt) and isinstance(reply, replies.Heed):
            self.read |= {name for name, _ in self.prompt.proposal.cautions}
        before, shown = self.case, self.prompt
        self.case = self.case.after(*turn.events)
        if any(not isinstance(event, SURVIVE) for event in turn.events):
            self.history.append(before)
        self.prompt = prompt_of(self.engine, self.case)
        if not isinstance(reply, replies.Decline):
            self.what_was_shown_is_held(shown)

    def what_was_shown_is_held(self, shown: Prompt) -> None:
        """A step whose steps were on the screen, and that is not on any more, left what it disturbs."""
        if isinstance(shown, ReadingPrompt | StepsPrompt | ProofPrompt) or (
            isinstance(shown, QuestionPrompt) and shown.about == "check"
        ):
            before, now = shown.proposal, getattr(self.prompt, "proposal", None)
            assert before is not None
            step = Situation(self.engine, self.case).step(before)
            assert step is not None
            if now is None or (now.kind, now.id) != (before.kind, before.id):
                assert set(step.disturbs) <= set(Situation(self.engine, self.case).disturbed)

    @rule()
    def back(self) -> None:
        """Take the last answer back: what counts is what counted before it."""
        shown = self.prompt
        turn = respond(self.engine, self.case, self.prompt, replies.Back())
        if not self.history:
            assert not turn.events
            assert turn.remarks
            return
        self.case = self.case.after(*turn.events)
        self.prompt = prompt_of(self.engine, self.case)
        self.what_was_shown_is_held(shown)
        now, then = standing_of(self.case), standing_of(self.history.pop())
        for name in ("observations", "state", "data_sheet", "asked", "unproved", "declined", "chosen", "no_complaint"):
            assert getattr(now, name) == getattr(then, name), name

    @rule()
    def come_back_later(self) -> None:
        """Write the case to a journal's lines and read it again: the prompt is the same."""
        lines = [msgspec.json.encode(entry) for entry in self.case.entries]
        entries = tuple(msgspec.json.decode(each, type=Entry) for each in lines)
        assert entries == self.case.entries
        assert prompt_of(self.engine, msgspec.structs.replace(self.case, entries=entries)) == self.prompt

    @invariant()
    def the_same_events_give_the_same_prompt(self) -> None:
        """An engine that has met nothing yet puts the same prompt."""
        if hasattr(self, "prompt"):
            assert prompt_of(lamp_engine(), self.case) == self.prompt

    @invariant()
    def somebody_gets_on(self) -> None:
        """An option, or *unknown*, leads to another prompt; at a hand-over somebody may go on or leave."""
        if not hasattr(self, "prompt"):
            return
        tried = [option.reply for option in self.prompt.options] or [replies.Unknown()]
        if isinstance(self.prompt, ReadingPrompt):
            tried.append(replies.Unknown())
        if isinstance(self.prompt, QuestionPrompt) and self.prompt.about == "data sheet":
            tried.append(replies.FieldsFilled(complete=True))
        turns = [respond(self.engine, self.case, self.prompt, each) for each in tried]
        assert any(turn.events for turn in turns)
        if not isinstance(self.prompt, HandOverPrompt):
            after = [prompt_of(self.engine, self.case.after(*turn.events)) for turn in turns if turn.events]
            assert any(each != self.prompt for each in after)

    @invariant()
    def nothing_told_is_lost(self) -> None:
        """Every answer of a turn that was not taken back is in what the case amounts to."""
        undone = {entry.event.turn for entry in self.case.entries if isinstance(entry.event, Undo)}
        told = [
            entry.event
            for entry in self.case.entries
            if entry.turn not in undone and isinstance(entry.event, FindingSeen | Measurement)
        ]
        standing = standing_of(self.case)
        assert [each for each in standing.observations if isinstance(each, FindingSeen | Measurement)] == told
        notes = [entry.event.text for entry in self.case.entries if isinstance(entry.event, Note)]
        assert list(standing.notes) == notes

    @invariant()
    def nothing_disturbed_is_forgotten(self) -> None:
        """What a step that was shown disturbs is held until somebody says that it is put back; an end names it all."""
        held: list[str] = []
        undone = {entry.event.turn for entry in self.case.entries if isinstance(entry.event, Undo)}
        for entry in self.case.entries:
            if isinstance(entry.event, Disturbed):
                held += [name for name in entry.event.what if name not in held]
            elif isinstance(entry.event, Restored) and entry.turn not in undone:
                held = [name for name in held if name not in entry.event.what]
        assert list(Situation(self.engine, self.case).disturbed) == held
        if isinstance(getattr(self, "prompt", None), HandOverPrompt):
            assert list(self.prompt.disturbed) == held  # type: ignore[union-attr]

    @invariant()
    def a_proof_is_made_of_a_whole_meter(self) -> None:
        """Nothing is disturbed but what the proof disturbs itself, and the plant stands as in service."""
        prompt = getattr(self, "prompt", None)
        before = isinstance(prompt, CautionPrompt) and prompt.before == "proof"
        if not (isinstance(prompt, ProofPrompt) or before or getattr(prompt, "proves", "")):
            return
        book, situation = self.engine.rule_book, Situation(self.engine, self.case)
        check = book.checks[prompt.proposal.id]  # type: ignore[union-attr]
        assert set(situation.disturbed) <= set(check.disturbs)
        stands = {**situation.plant, **dict(prompt.proposal.changes)}  # type: ignore[union-attr]
        for name, state in book.states.items():
            assert stands[name] in check.needs.get(name, (state.initial,))

    @invariant()
    def steps_come_after_their_cautions(self) -> None:
        """Whoever sees how to do a step has heeded each of its grave cautions once, and what a change brings up now."""
        if not hasattr(self, "prompt") or isinstance(self.prompt, CautionPrompt):
            return
        if isinstance(self.prompt, StepsPrompt | ReadingPrompt | ProofPrompt | PutBackPrompt) or (
            isinstance(self.prompt, QuestionPrompt) and self.prompt.about == "check"
        ):
            proposal = self.prompt.proposal
            assert proposal is not None
            standing = Situation(self.engine, self.case).standing
            heeded = standing.heeded
            if isinstance(self.prompt, PutBackPrompt) and not proposal.changes:  # part of the step that was just done
                heeded |= {(name, proposal.id) for name in standing.read_before}
            for name, _ in proposal.cautions:
                if self.engine.rule_book.cautions[name].signal in GRAVE:
                    assert name in self.read
                    assert name not in proposal.anew or (name, proposal.id) in heeded


TestWalk = Walk.TestCase
TestWalk.settings = settings(max_examples=20, stateful_step_count=20, deadline=None)
