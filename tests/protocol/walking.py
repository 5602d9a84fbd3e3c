"""Replies of every kind, sensible and senseless, for walks through the protocol."""

from __future__ import annotations

from hypothesis import strategies as st

from diagnose.observations import FindingSeen, Measurement
from diagnose.protocol import replies
from diagnose.protocol.prompts import Prompt
from diagnose.protocol.replies import Reply
from diagnose.reasoning.engine import Engine

TEXTS = (
    "it flickers",
    "no light",
    "the bulb is fine, already checked",
    "sewage line, 2011",
    "OL",
    "230 V",
    "> 20 Mohm",
    "?",
    "\x00\x1b[2J\u202e",
    "[red]dark[/red] {0} %s",
    "yes",
    "0",
    "-1",
    "1e999",
)


def any_reply(engine: Engine, prompt: Prompt) -> st.SearchStrategy[Reply]:
    """Return replies of all kinds: those on offer most often, and those that make no sense at this prompt."""
    book = engine.rule_book
    findings = st.sampled_from(sorted(book.findings))
    quantities = st.sampled_from(sorted(book.quantities) or ["none"])
    steps = st.sampled_from(sorted([*book.checks, *book.remedies, "no-such-step", ""]))
    answers = st.sampled_from(sorted({each.answer for check in book.checks.values() for each in check.outcomes}))
    seen = st.builds(FindingSeen, finding=findings, present=st.booleans())
    measured = st.builds(Measurement, quantity=quantities, value=st.sampled_from([0.0, 3.0, 230.0]))
    fields = [name for name, item in book.data_sheet_fields().items() if item.choices]
    filled = st.dictionaries(st.sampled_from(fields or ["none"]), st.sampled_from(["yes", "no", "inside"]), max_size=2)
    senseless: list[st.SearchStrategy[Reply]] = [
        st.builds(replies.Words, text=st.sampled_from(TEXTS)),
        st.builds(replies.Observed, observations=st.tuples(seen)),
        st.builds(replies.Observed, observations=st.tuples(measured)),
        st.builds(replies.CompetenceReply, competence=st.sampled_from(["ordinary", "instructed", "skilled"])),
        st.builds(replies.FieldsFilled, values=filled, complete=st.booleans()),
        st.builds(replies.Outcome, answer=answers),
        st.builds(replies.Figure, value=st.sampled_from([0.0, 3.0, 230.0])),
        st.builds(replies.Found, observations=st.tuples(seen)),
        st.builds(replies.Verdict, verdict=st.sampled_from(["cured", "partly", "not cured", "nonsense"])),
        st.builds(replies.Choose, step=steps),
        st.builds(replies.Decline, why=st.sampled_from(["no tool", "may not"])),
        st.builds(replies.LackingTool, tool=st.sampled_from(["voltmeter", "hammer"])),
        st.builds(replies.Avoiding, caution=st.sampled_from([*book.cautions, "dragons"])),
        st.builds(replies.NoteDown, text=st.sampled_from(TEXTS)),
        st.builds(
            replies.PlantSaid, state=st.sampled_from([*book.states, "moon"]), value=st.sampled_from(["in", "out"])
        ),
        *(
            st.just(each())
            for each in (
                replies.Heed,
                replies.PlantAsShown,
                replies.NobodyInDanger,
                replies.PlantAsBegun,
                replies.Leave,
                replies.Done,
                replies.NotDone,
                replies.Untouched,
                replies.NoOtherFault,
                replies.OtherFault,
                replies.OtherSteps,
                replies.Unknown,
                replies.Skip,
                replies.ThisStepOnly,
                replies.UseNote,
                replies.GoOn,
            )
        ),
    ]
    offered = [st.just(option.reply) for option in prompt.options]
    return st.one_of(*offered, *offered, *senseless) if offered else st.one_of(*senseless)
