"""The protocol as a state machine: from any prompt, any reply, any number of *back*."""

from __future__ import annotations

from typing import Any

import msgspec
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from diagnose.cases.events import Acknowledgement, Case, Entry, Note, TextRead, Undo
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

SURVIVE = Acknowledgement | Note | TextRead | Undo


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
        before = self.case
        self.case = self.case.after(*turn.events)
        if any(not isinstance(event, SURVIVE) for event in turn.events):
            self.history.append(before)
        self.prompt = prompt_of(self.engine, self.case)

    @rule()
    def back(self) -> None:
        """Take the last answer back: what counts is what counted before it."""
        turn = respond(self.engine, self.case, self.prompt, replies.Back())
        if not self.history:
            assert not turn.events
            assert turn.remarks
            return
        self.case = self.case.after(*turn.events)
        self.prompt = prompt_of(self.engine, self.case)
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
    def steps_come_after_their_cautions(self) -> None:
        """Whoever sees how to do a step has heeded each of its grave cautions once, and what a change brings up now."""
        if not hasattr(self, "prompt") or isinstance(self.prompt, CautionPrompt):
            return
        if isinstance(self.prompt, StepsPrompt | ReadingPrompt | ProofPrompt | PutBackPrompt) or (
            isinstance(self.prompt, QuestionPrompt) and self.prompt.about == "check"
        ):
            proposal = self.prompt.proposal
            assert proposal is not None
            heeded = Situation(self.engine, self.case).standing.heeded
            for name, _ in proposal.cautions:
                if self.engine.rule_book.cautions[name].signal in GRAVE:
                    assert name in self.read
                    assert name not in proposal.anew or (name, proposal.id) in heeded


TestWalk = Walk.TestCase
TestWalk.settings = settings(max_examples=20, stateful_step_count=20, deadline=None)
