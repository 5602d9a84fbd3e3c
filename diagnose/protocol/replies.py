"""What a person may reply to a prompt, whatever front it came through."""

from __future__ import annotations

from typing import TypeAlias

import msgspec

from diagnose.analyses.analysed import Analysis
from diagnose.observations import FindingSeen, Observation
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.quantities import Value


class _Reply(msgspec.Struct, frozen=True, kw_only=True, tag_field="reply", rename="kebab"):
    """Base of replies."""


class Words(_Reply, frozen=True, kw_only=True, tag="words"):
    """Own words, a report, or a table of readings: read as anywhere else."""

    text: str


class Observed(_Reply, frozen=True, kw_only=True, tag="observed"):
    """Observations as they are: what was chosen from a list, or what another program or analysis found."""

    observations: tuple[Observation, ...]


class CompetenceReply(_Reply, frozen=True, kw_only=True, tag="competence"):
    """What the person may do."""

    competence: Competence


class FieldsFilled(_Reply, frozen=True, kw_only=True, tag="fields"):
    """Fields of the data sheet; ``complete`` says that the rest of those asked for is not known here.

    ``unclear`` says what could not be read beside them, ``rest`` are words that fit no field: they are read as words.
    """

    values: dict[str, Value] = {}
    complete: bool = False
    unclear: str = ""
    rest: str = ""


class Outcome(_Reply, frozen=True, kw_only=True, tag="outcome"):
    """The answer of a check, in the words of the rule book."""

    answer: str


class Figure(_Reply, frozen=True, kw_only=True, tag="figure"):
    """A reading in SI units, or a limit."""

    value: Value


class Found(_Reply, frozen=True, kw_only=True, tag="found"):
    """What a check found, as findings in place of a reading or an answer on offer."""

    observations: tuple[FindingSeen, ...]


class Analysed(_Reply, frozen=True, kw_only=True, tag="analysis"):
    """Readings or a log in place of an answer, analysed."""

    analysis: Analysis


class Heed(_Reply, frozen=True, kw_only=True, tag="heed"):
    """The cautions were read and will be heeded."""


class Done(_Reply, frozen=True, kw_only=True, tag="done"):
    """The steps were carried out."""


class NotDone(_Reply, frozen=True, kw_only=True, tag="not-done"):
    """The steps could not be carried out, or the proof could not be made."""


class Untouched(_Reply, frozen=True, kw_only=True, tag="untouched"):
    """There is nothing to put back: what the step would have disturbed was never changed."""


class Verdict(_Reply, frozen=True, kw_only=True, tag="verdict"):
    """What the proof of a remedy showed: cured, partly, or not cured."""

    verdict: str


class NoOtherFault(_Reply, frozen=True, kw_only=True, tag="no-other-fault"):
    """After a cure nothing else is wrong; whatever else was reported is gone as well."""


class OtherFault(_Reply, frozen=True, kw_only=True, tag="other-fault"):
    """After a cure something else is wrong."""


class Choose(_Reply, frozen=True, kw_only=True, tag="choose"):
    """Another step in place of the one proposed; none for the one proposed."""

    step: str = ""


class OtherSteps(_Reply, frozen=True, kw_only=True, tag="other-steps"):
    """Show what else could be done."""


class Unknown(_Reply, frozen=True, kw_only=True, tag="unknown"):
    """The person cannot tell."""


class Skip(_Reply, frozen=True, kw_only=True, tag="skip"):
    """Not now."""


class Back(_Reply, frozen=True, kw_only=True, tag="back"):
    """Take the last answer back."""


class Decline(_Reply, frozen=True, kw_only=True, tag="decline"):
    """The step needs a tool that is not here, or more than the person may do (``why``)."""

    why: str


class ThisStepOnly(_Reply, frozen=True, kw_only=True, tag="this-step"):
    """Decline this step and no other."""


class LackingTool(_Reply, frozen=True, kw_only=True, tag="lacking-tool"):
    """Decline every step that needs this tool."""

    tool: str


class Avoiding(_Reply, frozen=True, kw_only=True, tag="avoiding"):
    """Decline every step that brings up this caution."""

    caution: str


class NoteDown(_Reply, frozen=True, kw_only=True, tag="note"):
    """Keep these words; they are no evidence."""

    text: str


class UseNote(_Reply, frozen=True, kw_only=True, tag="use-note"):
    """Read the last note as evidence."""


class PlantSaid(_Reply, frozen=True, kw_only=True, tag="plant"):
    """Say what state the plant is in."""

    state: str
    value: str


class PlantAsBegun(_Reply, frozen=True, kw_only=True, tag="plant-as-begun"):
    """The plant stands as the step that was left needs it."""


class Leave(_Reply, frozen=True, kw_only=True, tag="leave"):
    """The person leaves the interview, for now or for good."""


class NobodyInDanger(_Reply, frozen=True, kw_only=True, tag="nobody-in-danger"):
    """What may have told of a danger told of none."""


class PlantAsShown(_Reply, frozen=True, kw_only=True, tag="plant-as-shown"):
    """The plant stands as it is shown."""


class GoOn(_Reply, frozen=True, kw_only=True, tag="go-on"):
    """At a hand-over: go on all the same, with what was set aside offered again."""


class HazardOver(_Reply, frozen=True, kw_only=True, tag="hazard-over"):
    """Hazards that were reported are over, says whoever may say so; what was ``misread`` never was one."""

    findings: tuple[str, ...]
    misread: bool = False


class AnswerAndWords(_Reply, frozen=True, kw_only=True, tag="answer-and-words"):
    """An answer on offer, and what was said beside it: the words are read as after that answer."""

    answer: Reply
    words: str


Reply: TypeAlias = (
    Words
    | AnswerAndWords
    | Observed
    | CompetenceReply
    | FieldsFilled
    | Outcome
    | Figure
    | Found
    | Analysed
    | Heed
    | Done
    | NotDone
    | Untouched
    | Verdict
    | NoOtherFault
    | OtherFault
    | Choose
    | OtherSteps
    | Unknown
    | Skip
    | Back
    | Decline
    | ThisStepOnly
    | LackingTool
    | Avoiding
    | NoteDown
    | UseNote
    | PlantSaid
    | PlantAsShown
    | NobodyInDanger
    | PlantAsBegun
    | Leave
    | GoOn
    | HazardOver
)
