"""Cases of an invented lamp: of chosen events, and of events of every kind drawn at random."""

from __future__ import annotations

from hypothesis import strategies as st

from diagnose.cases.events import (
    Acknowledgement,
    Attached,
    Case,
    Cleared,
    Closed,
    CompetenceClaimed,
    CompetenceSaid,
    DangerAvoided,
    DangerMentioned,
    Disturbed,
    Event,
    FaultRemains,
    Left,
    LeftAsIs,
    MeterNamed,
    NoComplaint,
    NoDanger,
    Note,
    NothingElse,
    NoTool,
    OthersWanted,
    PlantChanged,
    PlantConfirmed,
    ReadingTaken,
    RemedyDone,
    Reopened,
    Restored,
    Resumed,
    SetAside,
    SheetAsked,
    SheetFilled,
    StaysDisturbed,
    StepBegun,
    StepChosen,
    StepDeclined,
    StepMeasured,
    TextRead,
    Undo,
    WentOn,
)
from diagnose.cases.standing import KEPT, Standing, standing_of
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried, State, WordEvidence
from diagnose.rule_book.quantities import DataSheet, Limit

SHEET: DataSheet = {"nominal-voltage": 230.0}
EMPTY = Standing(data_sheet=SHEET, state=State(competence="ordinary"))
DARK = FindingSeen(finding="lamp-dark", present=True)
WHOLE = CheckDone(check="look-at-bulb", answer="whole")
SHOCK = Acknowledgement(caution="shock", step="look-at-bulb")

_NAMES = st.sampled_from(["lamp-dark", "filament-broken", "voltage-missing"])
_STEPS = st.sampled_from(["look-at-bulb", "measure-voltage", "change-bulb"])
_TEXT = st.text(st.characters(exclude_categories=["Cc", "Cf", "Cs"]), max_size=12)  # as it is once it was typed
_FIGURES = st.floats(-1e6, 1e6)
_LIMITS = st.builds(Limit, _FIGURES, st.sampled_from(["above", "below"]))
_VALUES = _FIGURES | _TEXT | st.tuples(_TEXT, _TEXT) | _LIMITS

EVENTS: st.SearchStrategy[Event] = st.one_of(
    st.builds(FindingSeen, finding=_NAMES, present=st.booleans(), quote=_TEXT),
    st.builds(Measurement, quantity=_NAMES, value=_VALUES, quote=_TEXT),
    st.builds(CheckDone, check=_STEPS, answer=_TEXT),
    st.builds(RemedyTried, remedy=_STEPS, verdict=st.sampled_from(["cured", "partly", "not cured"])),
    st.builds(WordEvidence, decibans=st.dictionaries(_NAMES, _FIGURES, max_size=2), report=_TEXT),
    st.builds(TextRead, text=_TEXT, not_understood=st.tuples(_TEXT), doubts=st.tuples(_TEXT)),
    st.builds(PlantChanged, state=st.just("supply"), value=st.sampled_from(["live", "isolated"])),
    st.builds(SetAside, step=_STEPS, why=st.sampled_from(["skipped", "answered by readings", "not proved"])),
    st.builds(StepDeclined, step=_STEPS, why=st.sampled_from(["no tool", "may not"])),
    st.builds(NoTool, tool=_TEXT),
    st.builds(DangerAvoided, caution=_NAMES),
    st.builds(CompetenceSaid, competence=st.sampled_from(["ordinary", "instructed", "skilled"])),
    st.builds(SheetFilled, field=_NAMES, value=st.none() | _VALUES),
    st.builds(SheetAsked, fields=st.tuples(_NAMES)),
    st.builds(Acknowledgement, caution=_NAMES, step=_STEPS, unless=st.just(()) | st.tuples(_NAMES)),
    st.just(Resumed()),
    st.just(PlantConfirmed()),
    st.just(CompetenceClaimed(quote="I know lamps", competence="skilled")),
    st.just(NoDanger()),
    st.builds(StepBegun, step=_STEPS, changes=st.just((("supply", "isolated"),))),
    st.builds(DangerMentioned, quote=_TEXT, findings=st.tuples(_NAMES)),
    st.builds(Note, text=_TEXT),
    st.builds(StepChosen, step=st.just("") | _STEPS),
    st.builds(ReadingTaken, step=_STEPS, quantity=_NAMES, value=st.none() | _VALUES),
    st.builds(StepMeasured, step=_STEPS),
    st.builds(RemedyDone, remedy=_STEPS),
    st.builds(Cleared, finding=_NAMES),
    st.builds(Disturbed, step=_STEPS, what=st.tuples(_NAMES)),
    st.builds(Restored, what=st.tuples(_NAMES)),
    st.builds(StaysDisturbed, what=st.tuples(_NAMES)),
    st.builds(MeterNamed, tag=_TEXT, by=_TEXT),
    st.builds(Attached, name=_TEXT, sha256=st.just("0" * 64), size=st.integers(0, 10**9), note=_TEXT),
    st.builds(Left, state=st.sampled_from(["open", "cured"]), causes=st.tuples(st.tuples(_NAMES, st.floats(0, 1)))),
    st.builds(
        Closed,
        outcome=st.sampled_from(["found", "not found", "not listed"]),
        cause=_NAMES,
        words=_TEXT,
        minutes=st.none() | st.floats(0, 1e4),
        parts=st.just(()) | st.tuples(_TEXT),
        rank=st.integers(0, 300),
    ),
    st.builds(Reopened, why=_TEXT, by=_TEXT),
    *(st.just(kind()) for kind in (NoComplaint, OthersWanted, FaultRemains, NothingElse, LeftAsIs, WentOn)),
)
"""Every kind but Undo, which is drawn as a turn of its own."""

ANSWERS = st.lists(EVENTS, min_size=1, max_size=3)
TURNS = st.lists(ANSWERS | st.just("back"), max_size=12)
"""Answers of one or more events each, and taking back the last of them."""


def case_of(*turns: Event | tuple[Event, ...]) -> Case:
    """Return a case; each event, or each group of events, is a turn of its own."""
    case = Case(data_sheet=SHEET)
    for turn in turns:
        case = case.after(*(turn if isinstance(turn, tuple) else (turn,)))
    return case


def folded(*turns: Event | tuple[Event, ...]) -> Standing:
    """Return what such a case amounts to."""
    return standing_of(case_of(*turns))


def counts(events: list[Event]) -> bool:
    """Tell whether a turn answered something that can be taken back."""
    return any(not isinstance(event, KEPT) for event in events)


def after_turns(turns: list[list[Event] | str]) -> Case:
    """Return the case after these turns; going back where there is nothing to take back does nothing."""
    case = Case(name="case", data_sheet=SHEET)
    for turn in turns:
        case = case.after(*turn) if isinstance(turn, list) else back(case)
    return case


def back(case: Case) -> Case:
    """Return the case with its last answer taken back."""
    last = standing_of(case).last_turn
    return case.after(Undo(turn=last)) if last else case
