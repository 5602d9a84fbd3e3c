"""What the technician may ask to see beside a question, as blocks: reasons, all causes, all words, other complaints."""

from __future__ import annotations

from diagnose.documents import parts
from diagnose.documents.blocks import Block, Heading, Span, line
from diagnose.documents.document import cause_document
from diagnose.interview.screens import options
from diagnose.protocol.commands import COMMANDS
from diagnose.protocol.prompts import ComplaintPrompt
from diagnose.protocol.situation import Situation
from diagnose.reasoning.proposal import Proposal


def all_words() -> list[Block]:
    """Return what each of the words does."""
    rows = [line(Span(letter, "head"), f"  {word}: {does}", hang=4) for word, (letter, does) in COMMANDS.items()]
    told = line("Anything else is read as your own words: a new symptom, what you tried, what you found.")
    return [Heading("What can be typed at any prompt"), *rows, told]


def why(situation: Situation, proposal: Proposal | None) -> list[Block]:
    """Return the reasons: for and against the leading causes, and what the proposed step would do."""
    blocks: list[Block] = [Heading("Why this ranking")]
    for cause in situation.diagnosis.causes[:3]:
        document = cause_document(situation.rule_book, cause)
        blocks += [
            *parts.ranking([document], least=0.0),
            line(document.explanation, indent=4, hang=0),
            *parts.reasons_in_full(document),
        ]
    if proposal is None or proposal.kind not in ("check", "remedy"):
        return blocks
    text = f"It {proposal.because}." if proposal.kind == "check" else f"{proposal.because}."
    if proposal.kind == "check" and proposal.saves_minutes >= 0.5:
        text += f" It is expected to save {proposal.saves_minutes:.0f} minutes."
    elif proposal.kind == "check":
        text += " It is expected to take more minutes than it saves."
    return [*blocks, Heading(f"Why “{proposal.title}”"), line(text)]


def full_ranking(situation: Situation) -> list[Block]:
    """Return every cause that is not next to impossible."""
    causes = situation.diagnosis.causes
    shown = [cause_document(situation.rule_book, each) for each in causes if each.probability >= 0.001]
    rest = line(f"and {len(causes) - len(shown)} more below 0.1 %")
    return [Heading("All causes"), *parts.ranking(shown, least=0.001, area=True), rest]


def more_complaints(prompt: ComplaintPrompt) -> list[Block]:
    """Return what else people complain of."""
    return [Heading("Other complaints"), *options(prompt.options[prompt.common :])]
