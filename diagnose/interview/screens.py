"""What the technician sees at each prompt, as blocks. Nothing here decides anything."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from functools import singledispatch
from operator import itemgetter
from typing import NamedTuple

from msgspec.structs import replace

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Choice, Gap, Heading, Span, Typing, line, spans
from diagnose.documents.document import (
    caution_document,
    diagnosis_document,
    disturbance_documents,
    hazard_documents,
    left_documents,
    step_document,
)
from diagnose.documents.expected import tolerance
from diagnose.interview.endings import hand_over
from diagnose.interview.fields import fields
from diagnose.protocol.prompts import (
    CautionPrompt,
    ComplaintPrompt,
    HandOverPrompt,
    Option,
    Prompt,
    ProofPrompt,
    PutBackPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
    StopPrompt,
)
from diagnose.protocol.putting_back import PLANT
from diagnose.protocol.situation import Situation
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.competence import a_person
from diagnose.rule_book.plant import GRAVE, SIGNAL_WORDS
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.work import Check

RANKED = 4
"""Causes on the everyday screen; the full ranking shows all."""

LEAST_RANKED = 0.005

WORDS_SHOWN = "u unknown, s skip, b back, w why, o other checks, m may not, t no tool, n note, ? all words, l leave"

TAKES = {
    "reference": "or give pairs, reference first: `10 12.1; 50 52.2; 90 91.8 m3/h`",
    "control-system": "or give pairs, display first: `10 30; 50 60; 90 92 m3/h`",
    "counter": "or give pairs, display first, then counter: `10 10; 50 42 m3/h`",
}
"""Pairs that can be given in place of an answer, by what a check takes."""


class Screen(NamedTuple):
    """A screen: what may scroll away, and what must stay in sight."""

    above: list[Block]
    below: list[Block]


class ScreenParts(NamedTuple):
    """A screen in parts: how the plant stands, the causes so far, what goes before the question, and the question."""

    status: list[Block]
    ranking: list[Block]
    above: list[Block]
    below: list[Block]


def screen(
    situation: Situation, prompt: Prompt, before: Mapping[str, float] | None, noted: Container[str] = ()
) -> Screen:
    """Return the screen of a prompt; ``before`` is the ranking shown last, None where it need not be shown.

    ``noted`` is what was said before of what does not fit; it is not said again.
    """
    parts_of_it = in_parts(situation, prompt, before, noted)
    return Screen([rule(), *parts_of_it.status, *parts_of_it.ranking, *parts_of_it.above], parts_of_it.below)


def in_parts(
    situation: Situation, prompt: Prompt, before: Mapping[str, float] | None, noted: Container[str] = ()
) -> ScreenParts:
    """Return the parts of a screen, for whoever sets them otherwise than one below the other."""
    above, below = _screen_of(prompt, situation)
    if not has_ranking(prompt):
        return ScreenParts([], [], above, below)
    ranked = ranking(situation, before, noted) if before is not None else []
    return ScreenParts(status(situation), ranked, above, below)


def left_behind(situation: Situation) -> list[Block]:
    """Return what whoever leaves is told: what is not put back, and who must know; nothing where all is as it was."""
    book, plant = situation.rule_book, left_documents(situation.rule_book, situation.plant_may_be)
    left = parts.not_put_back(disturbance_documents(book, situation.disturbed), plant)
    if not left:
        return []
    stopped = "It stays so until the hazard is over; tell whoever comes next."
    text = stopped if situation.hazards else "Put it back, or tell whoever comes next."
    return [*left, line(Span(text, "warning-text"))]


def resumed(situation: Situation, prompt: Prompt) -> list[Block]:
    """Return what whoever comes back is told before the first question: as whom, and which cautions were read for it.

    Somebody else may have come; the steps on the screen were shown to whoever had read their cautions.
    """
    blocks: list[Block] = []
    if situation.standing.competence_said:
        person = a_person(situation.standing.state.competence)
        blocks.append(line(f"This case goes on as {person}. If you may do less, say so: ordinary or instructed."))
    step = getattr(prompt, "proposal", None)
    if step is not None and _heeded_now(situation, step):
        blocks += cautions(situation, step)
    return blocks


def cursor(prompt: Prompt) -> str:
    """Return the words before the cursor."""
    return "will you? > " if isinstance(prompt, CautionPrompt) else "> "


def has_ranking(prompt: Prompt) -> bool:
    """Tell whether there is anything to rank at a prompt: not before it is known what is wrong."""
    if isinstance(prompt, ComplaintPrompt | StopPrompt | HandOverPrompt):
        return False
    return not (isinstance(prompt, QuestionPrompt) and prompt.about in ("competence", "other fault", "plant", "danger"))


def rule() -> Block:
    """Return a line across the screen."""
    return line(Span("-" * 78, "quiet"), indent=0)


def status(situation: Situation) -> list[Block]:
    """Return the state the plant is in."""
    states = sorted(situation.rule_book.states.values(), key=lambda each: each.order)
    stands = " | ".join(f"{each.title}: {situation.plant[each.id]}" for each in states)
    head = line(Span(stands, "head"), Span(f"   case {situation.case.name}", "quiet"), indent=0)
    disturbed = [situation.rule_book.disturbances[name].title for name in situation.disturbed]
    return [head, *([line(Span(f"Still to put back: {'; '.join(disturbed)}", "warning-text"))] if disturbed else [])]


def does_not_fit(situation: Situation) -> list[str]:
    """Return what does not fit, in words."""
    return parts.what_does_not_fit(diagnosis_document(situation.rule_book, situation.diagnosis))


def ranking(situation: Situation, before: Mapping[str, float], noted: Container[str] = ()) -> list[Block]:
    """Return the likeliest causes, what the last answer moved, and what does not fit."""
    diagnosis = situation.diagnosis
    document = diagnosis_document(situation.rule_book, diagnosis)
    moved = {cause.id: cause.probability - before.get(cause.id, 0.0) for cause in diagnosis.causes} if before else {}
    return [
        *parts.ranking(document.causes, moved, RANKED, LEAST_RANKED),
        *parts.notes(document, noted),
        *parts.together(document),
    ]


def options(offered: Sequence[Option]) -> list[Block]:
    """Return the answers on offer with what to type for them."""
    return [Choice(each.key, each.text) for each in offered]


def words() -> list[Block]:
    """Return the words that are always there."""
    return [Typing(spans(Span(WORDS_SHOWN, "quiet")))]


def cautions(situation: Situation, proposal: Proposal) -> list[Block]:
    """Return the cautions of a step: in full what is certain and new, in one line what is only possible or was read.

    What is only possible stays so after it was asked for and nobody knew, and the gravest of it comes first; once it
    is certain it comes in full.
    """
    to_heed = situation.to_heed(proposal)
    full: dict[str, list[Block]] = {}
    possible: list[tuple[int, list[Block]]] = []
    again: list[Block] = []
    still: list[Block] = []
    for number, (name, unless) in enumerate(proposal.cautions):
        caution = situation.rule_book.cautions[name]
        document = caution_document(situation.rule_book, caution, unless)
        in_short = parts.caution_in_short(document)
        if not situation.was_read(name, unless):
            if unless:
                possible.append((SIGNAL_WORDS.index(caution.signal), in_short))
            else:
                full.setdefault(_when(situation, proposal, number), []).extend([Gap(), *parts.caution(document)])
        elif name in to_heed:
            again += in_short
        else:
            still += parts.caution_in_short(replace(document, condition=""))
    gravest_first = [block for _, blocks in sorted(possible, key=itemgetter(0)) for block in blocks]
    groups = {"Treat as present, since nobody could say:": gravest_first, "Read before, and needed again:": again}
    groups["Read before, and still applies:"] = still
    new: list[Block] = []
    for words, blocks in full.items():
        new += [Gap(), line(words), *blocks] if len(full) > 1 else blocks
    return [*new, *(block for words, blocks in groups.items() for block in _under(words, blocks))]


def _when(situation: Situation, proposal: Proposal, number: int) -> str:
    """Return in words the moment on the way at which a caution of a step first applies."""
    name, _ = proposal.cautions[number]
    bites = proposal.bites[number] if number < len(proposal.bites) else len(proposal.changes)
    if situation.rule_book.cautions[name].signal not in GRAVE:
        return "Also:"
    if bites >= len(proposal.changes):
        return "During the step itself:"
    state, to = proposal.changes[bites]
    return f"On the way, {situation.rule_book.states[state].title.lower()} {to}:"


def _under(words: str, blocks: list[Block]) -> list[Block]:
    return [Gap(), line(Span(words, "quiet")), *blocks] if blocks else []


def _heeded_now(situation: Situation, proposal: Proposal) -> bool:
    """Tell whether the cautions of a step were on a screen of their own just before."""
    return any(step == proposal.id for _, step in situation.standing.heeded)


def _head(situation: Situation, proposal: Proposal) -> list[Block]:
    """Return what a step is; where its cautions were just heeded, no more than its title."""
    document = step_document(situation.rule_book, proposal)
    if _heeded_now(situation, proposal):
        return [Gap(), *parts.proposed(document)[:1]]
    return [Gap(), *parts.proposed(document), *cautions(situation, proposal)]


def _how(situation: Situation, proposal: Proposal) -> list[Block]:
    """Return the step itself, below its head: how to do it."""
    document = step_document(situation.rule_book, proposal)
    how = parts.steps(document)
    return [*_head(situation, proposal), *([Gap()] if how else []), *how]


@singledispatch
def _screen_of(prompt: Prompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    raise TypeError(f"no screen for a {type(prompt).__name__}")


@_screen_of.register
def _(prompt: ComplaintPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    text = "What is wrong with the meter? Say it in your own words, or choose:"
    if prompt.again:
        text = "What is still wrong? Say it in your own words, or choose:"
    above: list[Block] = []
    if prompt.kept:
        above = [
            line("That is kept, but it does not say what is wrong."),
            Typing(spans("Type u if nobody can say more."), indent=2),
        ]
    rest = len(prompt.options) - prompt.common
    more = [Choice("more", f"{rest} other complaint{'s' if rest > 1 else ''}")] if rest else []
    near = prompt.options[: prompt.near]
    nearest = [line("Do you mean one of these?", indent=0), *options(near), line("Or else:", indent=0)] if near else []
    return above, [Heading(text), *nearest, *options(prompt.options[prompt.near : prompt.common]), *more]


@_screen_of.register
def _(prompt: QuestionPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    if prompt.about == "data sheet":
        return [], fields(situation, prompt)
    if prompt.about == "other steps":
        return [], [Heading(prompt.text), *_others(prompt)]
    if prompt.about != "check" or prompt.proposal is None:
        return [], [Heading(prompt.text), *options(prompt.options)]
    check = situation.rule_book.checks[prompt.proposal.id]
    asked = [*_how(situation, prompt.proposal), *words(), *options(prompt.options), *takes(check)]
    return [], asked


@_screen_of.register
def _(prompt: ReadingPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    quantity = situation.rule_book.quantities[prompt.quantity]
    check = situation.rule_book.checks[prompt.proposal.id]
    head: list[Block] = [Heading(f"Now prove it: {check.title}")] if prompt.proves else []
    asked = [*head, *_how(situation, prompt.proposal), *words(), *reading(situation, prompt, quantity, check)]
    return [], [*asked, *options(prompt.options), *(takes(check) if prompt.options else [])]


@_screen_of.register
def _(prompt: StepsPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    return [], [*_how(situation, prompt.proposal), *words(), *options(prompt.options)]


@_screen_of.register
def _(prompt: CautionPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    at_the_end = prompt.proposal.id == PLANT
    titles = {"proof": "Before the proof", "put back": f"Before you put {'the plant' if at_the_end else 'this'} back"}
    document = step_document(situation.rule_book, prompt.proposal)
    if prompt.before in titles:
        head: list[Block] = [Heading(f"{titles[prompt.before]}: {prompt.proposal.title}")]
    else:
        head = [Gap(), *parts.proposed(document)]
    heed = Typing(spans(Span("Type y once you have read this and will act on it.", "head")), indent=2)
    return [], [*head, *cautions(situation, prompt.proposal), Gap(), heed]


@_screen_of.register
def _(prompt: ProofPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    how: list[Block] = []
    if not prompt.measured:
        document = step_document(situation.rule_book, prompt.proposal)
        now = _heeded_now(situation, prompt.proposal)
        lighter = [] if now else cautions(situation, prompt.proposal)
        how = [Heading(f"Now prove it: {document.title}"), *lighter, *parts.steps(document)]
    return [], [*how, Heading(prompt.text), *options(prompt.options)]


@_screen_of.register
def _(prompt: PutBackPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    document = step_document(situation.rule_book, prompt.proposal)
    lighter = [] if _heeded_now(situation, prompt.proposal) else cautions(situation, prompt.proposal)
    head = Heading("Before you leave: put the plant back" if prompt.proposal.id == PLANT else prompt.proposal.title)
    own = [step for name in prompt.disturbed for step in situation.rule_book.disturbances[name].steps]
    # At the end what was disturbed is put back while the plant still stands as it did then.
    first = (*document.steps, *own) if prompt.proposal.id != PLANT else (*own, *document.steps)
    steps = parts.steps(replace(document, steps=tuple(dict.fromkeys(first))))
    return [], [head, *lighter, *steps, *options(prompt.options)]


@_screen_of.register
def _(prompt: StopPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    told = hazard_documents(situation.rule_book, prompt.findings, prompt.quotes)
    head = Heading("STOP. This comes before anything else:")
    return [], [head, *parts.hazards(told), Gap(), *options(prompt.options)]


@_screen_of.register
def _(prompt: HandOverPrompt, situation: Situation) -> tuple[list[Block], list[Block]]:
    leave: list[Block] = [
        Choice("l", "leave; everything is kept"),
        Typing(spans(Span("or o other steps, b back, your own words", "quiet")), indent=5),
    ]
    return hand_over(situation, prompt), [Gap(), *options(prompt.options), *leave]


def reading(situation: Situation, prompt: ReadingPrompt, quantity: Quantity, check: Check) -> list[Block]:
    """Return which reading is asked for and what to expect."""
    unit = f", in {quantity.unit}" if quantity.unit else ""
    blocks: list[Block] = [line(f"Type the reading: {quantity.title}{unit}")]
    if prompt.expected is not None:
        expected = situation.rule_book.quantities[check.expect]
        text = expected.shown(prompt.expected) + tolerance(expected, quantity, prompt.expected)
        blocks.append(line(Span(f"expect {text} if all is well up to here", "head")))
    return blocks


def takes(check: Check) -> list[Block]:
    """Return what can be given in place of an answer."""
    if not check.takes:
        return []
    pairs = TAKES.get(check.takes, "")
    file = "or name a file of them" if pairs else "or name the file of a log"
    told: list[Block] = [line(Span(pairs, "quiet"), indent=5, hang=0)] if pairs else []
    return [*told, Typing(spans(Span(file, "quiet")), indent=5)]


def _others(prompt: QuestionPrompt) -> list[Block]:
    """Return other steps with what they take and are worth."""
    worth = {each.id: _worth(each) for each in prompt.others}
    blocks: list[Block] = []
    for option in prompt.options:
        step = getattr(option.reply, "step", "")
        blocks.append(Choice(option.key, f"{option.text}{worth.get(step, '')}"))
    return blocks


def _worth(proposal: Proposal) -> str:
    if proposal.kind == "remedy":
        return f" (remedy, {proposal.minutes:.0f} min; {proposal.because.split(';')[0]})"
    saves = f"saves {proposal.saves_minutes:.0f} min" if proposal.saves_minutes >= 0.5 else "not worth its time yet"
    return f" ({proposal.minutes:.0f} min; {saves})"
