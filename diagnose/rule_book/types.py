"""What an author writes in ``rules/``, as frozen types: the rule book and its parts.

Field names are those of the YAML with underscores for hyphens. Words of a scale ("usually", "occasional") are
numbers here, and every figure with a unit is in SI units; :mod:`diagnose.rule_book.load` puts them so.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

from diagnose.rule_book.condition_types import Condition
from diagnose.units import show_short

Competence = Literal["ordinary", "instructed", "skilled"]
"""Ordinary, instructed and skilled person in the sense of IEC 60050-195."""

COMPETENCES: tuple[Competence, ...] = ("ordinary", "instructed", "skilled")


def a_person(competence: Competence) -> str:
    """Return a person of this competence with the article.

    >>> a_person("skilled"), a_person("instructed")
    ('a skilled person', 'an instructed person')
    """
    return f"{'a' if competence == 'skilled' else 'an'} {competence} person"


SignalWord = Literal["danger", "warning", "caution", "notice"]
"""Signal words of ISO 3864-2, gravest first."""

SIGNAL_WORDS: tuple[SignalWord, ...] = ("danger", "warning", "caution", "notice")


class Limit(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A reading of which only one side is known: above (``>20 Mohm``, over range) or below (``<0.1 ohm``) a bound, SI.

    The bound itself does not belong to it; what varies continuously never stands exactly there, so ``≥`` says no less.
    """

    bound: float
    direction: Literal["above", "below"]


Reading: TypeAlias = float | Limit
"""What an instrument gave: a figure in SI units, or a limit."""

Value: TypeAlias = float | str | tuple[str, ...] | Limit
"""A figure in SI units, a word, several words, or a limit."""

AND_MORE = "…"
"""The last of several words where there may be others that nobody has told."""

DataSheet: TypeAlias = dict[str, Value]
"""Known fields of the data sheet; what is not there is unknown."""

StatusSignal = Literal["failure", "function check", "out of specification", "maintenance required", "good"]
"""Status signals of NAMUR NE 107."""


class Entry(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What all parts share: an id that can be said aloud, and where the claim comes from."""

    id: str
    source: str = ""


class Source(Entry, frozen=True, kw_only=True):
    """Where a claim comes from."""

    citation: str
    kind: Literal["standard", "handbook", "report", "common practice", "estimate", "from memory"]


class Area(Entry, frozen=True, kw_only=True):
    """A part of the measuring chain in which causes sit."""

    title: str


class Calculation(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How a quantity follows from others: a function of the calculations table and what goes in by name.

    Nothing is worked out while an input is unknown, but for those in ``may_be_unknown``: the function then takes its
    own default.
    """

    function: str
    inputs: dict[str, str]
    may_be_unknown: tuple[str, ...] = ()


class Quantity(Entry, frozen=True, kw_only=True):
    """Something with a value: measured, calculated, or a field of the data sheet.

    ``unit`` is what people read and write; values inside the program are SI: ``si = value * si_factor + si_offset``.
    ``plausible`` are the limits (SI) beyond which a value is asked about again. A quantity with ``where_to_find``
    belongs to the data sheet, and is asked for where a step hangs on it; one that is ``on_data_sheet`` may stand
    there as well, though a check finds it out. ``text`` is kept as it stands. One with ``choices`` has a word for its
    value; with ``several``, one or more words; ``choice_words`` are the phrases that people use for each. A word that
    is ``alone`` excludes the others (no output at all); with ``may_be_more``, who tells one word does not say that
    there are no others, so the value ends with :data:`AND_MORE`. ``written`` are forms with ``#`` for the figure where
    people leave the unit out (``DN #``).
    ``lower_end_of`` names the quantity with which it forms a range ("0 to 100"). ``tolerance`` (SI) and
    ``tolerance_share`` (of the value) say how far a reading, or a value calculated for it, may lie from the truth.
    """

    title: str
    unit: str = ""
    choices: tuple[str, ...] = ()
    several: bool = False
    choice_words: dict[str, tuple[str, ...]] = {}
    alone: tuple[str, ...] = ()
    may_be_more: bool = False
    written: tuple[str, ...] = ()
    lower_end_of: str = ""
    plausible: tuple[float, float] | None = None
    where_to_find: str = ""
    on_data_sheet: bool = False
    text: bool = False
    words: tuple[str, ...] = ()
    calculate: Calculation | None = None
    tolerance: float | None = None
    tolerance_share: float = 0.0
    si_factor: float = 1.0
    si_offset: float = 0.0

    @property
    def of_data_sheet(self) -> bool:
        """Whether it says how the meter is built or set, and so may stand on its data sheet."""
        return bool(self.where_to_find) or self.on_data_sheet

    def shown(self, value: Value) -> str:
        """Return a value (SI) as people read it, with the quantity's unit; above all that is plausible is over range.

        >>> coil = Quantity(id="coil", title="coil", unit="ohm", plausible=(0.0, 1e9))
        >>> coil.shown(85.0), coil.shown(Limit(2e7, "above")), coil.shown(Limit(1e9, "above"))
        ('85 ohm', 'above 20 Mohm', 'over range')
        """
        if isinstance(value, tuple):
            return ", ".join(value)
        if isinstance(value, str):
            return value
        if isinstance(value, Limit):
            return self._limit_shown(value)
        return show_short(value, self.unit, self.si_factor, self.si_offset)

    def _limit_shown(self, limit: Limit) -> str:
        beyond = self.plausible is not None and limit.direction == "above" and limit.bound >= self.plausible[1]
        return "over range" if beyond else f"{limit.direction} {self.shown(limit.bound)}"

    def limits_of(self, value: float) -> float:
        """Return how far (SI) a value may lie from the truth; zero when nothing is said."""
        return (self.tolerance or 0.0) + self.tolerance_share * abs(value)

    def reads_plausible(self, value: float) -> bool:
        """Tell whether a value (SI) lies within the plausible limits."""
        return self.plausible is None or self.plausible[0] <= value <= self.plausible[1]


class KeepAway(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What to do at once where a finding means danger, in order, and who must come before anybody goes near again."""

    do: tuple[str, ...]
    who: str


class Finding(Entry, frozen=True, kw_only=True):
    """A proposition about the meter that is present, absent or unknown.

    A *symptom* is what people see go wrong, a *result* what a check finds, *history* how it came about, a
    *circumstance* how the meter is built or used, which is nobody's fault. One with ``keep_away`` stops
    all work while it is present.
    ``phrases`` affirm it in a report, ``denied_by`` say that it is not so; ``sounds_like`` share words with its phrases
    and mean something else (a *smoke detector*), and say neither.
    ``leak`` is the probability that a meter with none of the listed causes shows it. Findings with the same
    ``alternatives`` word exclude each other. ``complaint`` marks what somebody may come with.
    """

    title: str
    kind: Literal["symptom", "history", "result", "circumstance"] = "result"
    question: str = ""
    minutes: float | None = None
    phrases: tuple[str, ...] = ()
    denied_by: tuple[str, ...] = ()
    sounds_like: tuple[str, ...] = ()
    subject: tuple[str, ...] = ()
    alternatives: str = ""
    complaint: Literal["", "common", "other"] = ""
    leak: float = 0.01
    applies: dict[str, tuple[str, ...]] = {}
    keep_away: KeepAway | None = None

    @property
    def says_what_is_wrong(self) -> bool:
        """Whether the finding, where it is present, is a complaint; history and circumstances are none."""
        return self.kind in ("symptom", "result")

    @property
    def lasts(self) -> bool:
        """Whether it stays after the fault was put right."""
        return self.kind in ("history", "circumstance")


class Outcome(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One possible answer of a check, what it sets, and what it means in words.

    One that is ``standing_only`` makes sense only for a fault that is there all the time ("unsteady all the time"); it
    is not offered where the fault is known to come and go.
    """

    answer: str
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    means: str = ""
    standing_only: bool = False


class Step(Entry, frozen=True, kw_only=True):
    """What checks and remedies share: something a person does at the plant.

    ``needs`` names the value (or values) of each state that the step needs. ``meets`` names hazards that the step
    meets beyond those that its state brings. ``applies`` limits it to meters whose data sheet does not contradict;
    ``not_when`` takes it out where the data sheet says so.
    """

    title: str
    steps: tuple[str, ...]
    minutes: float
    tools: tuple[str, ...] = ()
    needs: dict[str, tuple[str, ...]] = {}
    competence: Competence = "ordinary"
    meets: tuple[str, ...] = ()
    applies: dict[str, tuple[str, ...]] = {}
    not_when: dict[str, tuple[str, ...]] = {}


class Check(Step, frozen=True, kw_only=True):
    """Something a person does to learn findings: by its outcomes, by a measured quantity, or both.

    One that ``only_proves`` is for after a remedy and never proposed to find a cause. At one that ``takes`` pairs of
    readings (against a reference; at the control system or a counter against the display) or a log, these may be
    given in place of an answer, and are analysed.
    One that ``provokes`` brings on a fault that comes and goes, or watches for it (a tap, a wiggle, a recorder); it is
    for faults that come and go, and not offered where this one is known to be there all the time.
    """

    ask: str
    only_proves: bool = False
    provokes: bool = False
    measures: str = ""
    expect: str = ""
    takes: Literal["", "reference", "control-system", "counter", "log"] = ""
    outcomes: tuple[Outcome, ...] = ()


class Remedy(Step, frozen=True, kw_only=True):
    """What puts a cause right, and the check that proves it.

    ``works`` is the probability that, carried out, it cures its cause; ``escalates`` marks one that only fetches
    somebody who knows more.
    """

    proved_by: str
    parts: tuple[str, ...] = ()
    works: float = 0.95
    escalates: bool = False


class Cause(Entry, frozen=True, kw_only=True):
    """A failure cause, what it shows and how often, and what puts it right.

    ``described_as`` are things that people say who have met it; only the words in them count (``wording_weight``).
    """

    title: str
    area: str
    explanation: str
    frequency: float
    shows: dict[str, float]
    remedy: str
    signal: StatusSignal
    applies: dict[str, tuple[str, ...]] = {}
    looks_like: tuple[str, ...] = ()
    follow_up: str = ""
    described_as: tuple[str, ...] = ()
    shows_others: float = 0.0


class Caution(Entry, frozen=True, kw_only=True):
    """A hazard with its consequence and how to avoid it; ``comes_up`` lists what brings it up.

    Each item of ``comes_up`` maps ``meets`` (a hazard), a state (the value a step needs) or a data-sheet field to
    the values that bring it up; all keys of one item must hold, any one item suffices. A step that meets an item of
    ``forbids`` is never proposed.
    """

    title: str
    signal: SignalWord
    hazard: str
    consequence: str
    avoid: tuple[str, ...]
    comes_up: tuple[dict[str, tuple[str, ...]], ...]
    forbids: tuple[dict[str, tuple[str, ...]], ...] = ()


class StateChange(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What it takes to bring a state from one value to another."""

    from_: str = msgspec.field(name="from")
    to: str
    minutes: float
    steps: tuple[str, ...]
    competence: Competence
    meets: tuple[str, ...] = ()


class PlantState(Entry, frozen=True, kw_only=True):
    """One way in which the plant stands (supply, line, enclosure), its values and what changing them costs.

    ``order``: states of lower order are changed first when leaving their initial value, and last when going back.
    """

    title: str
    order: int
    values: tuple[str, ...]
    initial: str
    changes: tuple[StateChange, ...]


class Review(Entry, frozen=True, kw_only=True):
    """One point on which an installation is judged from its data sheet alone.

    It is wrong when a finding of ``wrong`` is present, doubtful when one of ``doubtful`` is, fine when all of them are
    absent; else nobody can tell. ``shows`` are the quantities that people want to see with it, ``advice`` what to do.
    """

    title: str
    shows: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()
    applies: dict[str, tuple[str, ...]] = {}
    advice: str = ""


class Contradiction(Entry, frozen=True, kw_only=True):
    """Entries of a data sheet that cannot all be right; told at ``field``."""

    when: Condition
    field: str
    because: str
    help: str = ""


ComparedAt = Literal["reference", "control-system", "counter"]
"""What a meter is compared with: a reference against its display, or its display against what a receiver shows."""


class Mechanism(Entry, frozen=True, kw_only=True):
    """One way in which pairs of readings come to differ: a physical model, and what is known of it in the trade.

    ``model`` names the curve (:mod:`diagnose.analyses.mechanisms`). ``weight`` is its share among all mechanisms before
    any reading; only ratios matter. ``look`` tells it from others with the same curve, ``remedy`` puts it right at its
    source. ``shows`` are findings that are present where it is at work, by what the meter is compared with.
    """

    title: str
    model: str
    weight: float
    look: str
    remedy: str
    shows: dict[ComparedAt, tuple[str, ...]] = {}


class Sign(Entry, frozen=True, kw_only=True):
    """Something that a log can show: the detector that looks for it, and what it says of the meter.

    ``detector`` names it (:mod:`diagnose.analyses.trend`). ``shows`` are findings that are present when it is seen,
    ``denies`` those that are absent when it was looked for with enough readings and not seen. ``means`` says in words
    what people should take from it.
    """

    title: str
    detector: str
    means: str
    shows: tuple[str, ...] = ()
    denies: tuple[str, ...] = ()


class Example(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What a rule is given, by name, and whether it then fires."""

    given: dict[str, str | float | bool]
    fires: bool


class InferenceRule(Entry, frozen=True, kw_only=True):
    """From observations and findings to findings."""

    when: Condition
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    because: str
    examples: tuple[Example, ...] = ()


class Settings(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Figures, scales and sets of words that hold for the whole rule book (``rules/book.yaml``).

    A phrase may name a set of words in angle brackets; it then stands for one phrase with each of them. ``same_words``
    are single words that are read as another one wherever they stand, in phrases and in reports. ``data_sheet``
    lists the fields of a data sheet by group, in the order in which they are asked; ``data_sheet_applies`` says which
    groups concern only some meters. ``intermittent`` names the finding that a fault comes and goes;
    ``seen_while_it_shows`` is then the share of the time in which a look finds what the fault shows. A check
    that exposes somebody counts with ``exposed_counts`` of what it saves where it is compared with mere looks. No
    remedy comes before a telling check while it is needed with less than ``act_from``. After
    ``outside_after_answers`` answers without a cause at ``outside_below`` or more, the fault is said to be outside the
    rule book (0: never).
    ``wording_weight`` says how much the single words of a report count beside the
    findings in it; at 0 they do not. ``wording_off_the_point`` is the share of reports that talk
    of something else than their cause.
    """

    title: str
    several_at_once: float
    strengths: dict[str, float]
    frequencies: dict[str, float]
    leaks: dict[str, float]
    exposure_minutes: dict[str, float]
    call_out_minutes: float
    question_minutes: float
    remedy_works: float
    result_misread: float = 0.0
    needless_remedy_minutes: float = 0.0
    intermittent: str = ""
    seen_while_it_shows: float = 1.0
    exposed_counts: float = 1.0
    act_from: float = 0.0
    outside_after_answers: int = 0
    outside_below: float = 0.0
    wording_weight: float = 0.0
    wording_off_the_point: float = 0.0
    word_sets: dict[str, tuple[str, ...]] = {}
    same_words: dict[str, tuple[str, ...]] = {}
    data_sheet: dict[str, tuple[str, ...]] = {}
    data_sheet_applies: dict[str, dict[str, tuple[str, ...]]] = {}


class RuleBook(msgspec.Struct, frozen=True, kw_only=True):
    """All of ``rules/``, loaded, cross-checked, and with words turned into numbers. Ids are in sorted order."""

    settings: Settings
    sources: dict[str, Source]
    areas: dict[str, Area]
    quantities: dict[str, Quantity]
    findings: dict[str, Finding]
    checks: dict[str, Check]
    inference: dict[str, InferenceRule]
    causes: dict[str, Cause]
    remedies: dict[str, Remedy]
    cautions: dict[str, Caution]
    states: dict[str, PlantState]
    reviews: dict[str, Review] = {}
    contradictions: dict[str, Contradiction] = {}
    mechanisms: dict[str, Mechanism] = {}
    signs: dict[str, Sign] = {}

    def data_sheet_fields(self) -> dict[str, Quantity]:
        """Return the quantities that belong to the data sheet."""
        fields = {name: item for name, item in self.quantities.items() if item.where_to_find or item.on_data_sheet}
        order = [name for names in self.settings.data_sheet.values() for name in names if name in fields]
        return {name: fields[name] for name in [*order, *(name for name in fields if name not in order)]}
