"""What is put to a person next, and the replies that it offers. Data only: how it looks is up to each front.

Every prompt offers options: a key to type, the words for it, and the reply that it stands for.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

from diagnose.protocol.replies import Reply
from diagnose.reasoning.proposal import Proposal
from diagnose.rule_book.quantities import Value


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """One reply on offer: what to type for it, what it says, and what it stands for."""

    key: str
    text: str
    reply: Reply


class _Prompt(msgspec.Struct, frozen=True, kw_only=True, tag_field="prompt", rename="kebab"):
    """Base of prompts."""

    options: tuple[Option, ...] = ()


class ComplaintPrompt(_Prompt, frozen=True, kw_only=True, tag="what is wrong"):
    """What is wrong with the meter?

    The first ``common`` options are what people come with most, the first ``near`` of them what is nearest to the words
    that were told; ``kept`` says that something is known already, but not what is wrong; ``again`` that one fault was
    put right and another is there.
    """

    common: int
    near: int = 0
    kept: bool = False
    again: bool = False


class QuestionPrompt(_Prompt, frozen=True, kw_only=True, tag="question"):
    """A question with answers to choose from.

    ``about`` says what it is for: who the person is, fields of the data sheet, how far a step is declined, which other
    step, whether a fault remains, who makes a proof that is more than this person may do, how the plant stands, whether
    words tell of a danger, or a check that only asks and looks (then with its ``proposal``). ``told`` are words of the
    person that were not understood and may be about these fields.
    """

    about: Literal[
        "competence", "data sheet", "declined", "other steps", "other fault", "proof", "plant", "danger", "check"
    ]
    text: str
    fields: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    others: tuple[Proposal, ...] = ()
    proposal: Proposal | None = None


class ReadingPrompt(_Prompt, frozen=True, kw_only=True, tag="reading"):
    """A reading to take: of which ``quantity``, what to expect if all is well (SI), and the step it belongs to.

    ``taken`` are readings taken at the same step; ``proves`` names the remedy where the reading is part of its proof.
    """

    quantity: str
    proposal: Proposal
    expected: float | None = None
    taken: dict[str, Value | None] = {}
    proves: str = ""


class StepsPrompt(_Prompt, frozen=True, kw_only=True, tag="steps"):
    """Steps to do: a remedy."""

    proposal: Proposal


class CautionPrompt(_Prompt, frozen=True, kw_only=True, tag="caution"):
    """Cautions to heed before the steps are shown; ``before`` says before what."""

    proposal: Proposal
    before: Literal["check", "remedy", "proof", "put back"]


ReadingOfProof: TypeAlias = Literal["", "good", "not good", "open", "not taken"]
"""What the rules make of the reading of a proof; "" where it takes none."""


class ProofPrompt(_Prompt, frozen=True, kw_only=True, tag="proof"):
    """Did the remedy cure the fault? ``measured`` says that the steps of the proof were shown with a reading.

    ``reading`` says what the rules make of that reading: *good*, *not good* (then it is not cured, whatever anybody
    says), *open* where they say nothing of it, or *not taken*: then ``text`` asks for that, too.
    """

    remedy: str
    proposal: Proposal
    text: str = "Did it cure the fault?"
    measured: bool = False
    reading: ReadingOfProof = ""


class PutBackPrompt(_Prompt, frozen=True, kw_only=True, tag="put back"):
    """What is to be put back: before the next step or proof, or before anybody leaves.

    ``disturbed`` is what steps left changed, in the order in which it is put back.
    """

    proposal: Proposal
    disturbed: tuple[str, ...] = ()


class StopPrompt(_Prompt, frozen=True, kw_only=True, tag="stop"):
    """Hazards that were reported: work stops until they are over. ``quotes`` gives the words, by finding."""

    findings: tuple[str, ...]
    quotes: dict[str, str] = {}


class HandOverPrompt(_Prompt, frozen=True, kw_only=True, tag="hand-over"):
    """The end, unless the person goes on: why, and what whoever takes over must know.

    ``ending`` is *cured*, *hand-over* (to the person in ``proposal``) or *outside the book*; ``unlikely`` are causes
    that were likely at first, ``left`` states of the plant that were not put back, ``disturbed`` what steps left
    changed and is still so, ``not_proved`` remedies carried out without a proof, ``put_off``
    lasting remedies that remain to be planned because an interim one does for now, ``left_out`` says in words which
    steps were not proposed because nobody knows whether they are forbidden here.
    """

    ending: Literal["cured", "hand-over", "outside the book"]
    proposal: Proposal
    unlikely: tuple[str, ...] = ()
    left: tuple[tuple[str, str], ...] = ()
    disturbed: tuple[str, ...] = ()
    not_proved: tuple[str, ...] = ()
    put_off: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


Prompt: TypeAlias = (
    ComplaintPrompt
    | QuestionPrompt
    | ReadingPrompt
    | StepsPrompt
    | CautionPrompt
    | ProofPrompt
    | PutBackPrompt
    | StopPrompt
    | HandOverPrompt
)
