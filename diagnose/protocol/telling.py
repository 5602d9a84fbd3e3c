"""What somebody says in words of their own, at whatever prompt, as events."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from diagnose.cases.events import (
    CompetenceClaimed,
    CompetenceSaid,
    DangerMentioned,
    Disturbed,
    Event,
    PlantChanged,
    TextRead,
)
from diagnose.errors import BadInput
from diagnose.observations import FindingSeen, Observation, WordEvidence
from diagnose.protocol.situation import Situation
from diagnose.protocol.turn import Remark, Turn, told
from diagnose.reasoning.steps import within
from diagnose.rule_book.competence import COMPETENCES, Competence, a_person

if TYPE_CHECKING:
    from diagnose.language.results import About
    from diagnose.reading import Report

NOTHING_KNOWN = "None of that was understood. It is kept; say it in other words, or choose an answer."

FOREIGN = (
    "That is not in English: of its statements none was read. Put it into plain English words, or choose an answer."
)
_ABOUT: dict[About, str] = {
    "seems solved": "By these words the matter is over. If anything is still wrong, say what the meter shows or does.",
    "no flow meter": "That does not seem to be about a flow meter. If it is, say what the meter shows or does.",
    "several flow meters": "That tells of several meters. Take one at a time: say what one of them shows or does.",
    "nothing wrong told": "That does not say that anything is wrong: say what the meter shows or does.",
}
"""What is remarked on words about anything but one meter that is wrong."""


def read_words(situation: Situation, text: str) -> Turn:
    """Read words as a report is read; what was not understood is kept, and said so.

    Single words of what was not understood say what a complaint is about; later on they say nothing.
    """
    from diagnose.reading import read_report

    try:
        report = read_report(
            situation.engine, text, situation.data_sheet, situation.told_before, complains=situation.complaining
        )
    except BadInput as error:
        return told(str(error))
    understanding = report.understanding
    remarks = [Remark(kind="understood", statement=each) for each in understanding.understood]
    remarks += [Remark(kind="analysed", analysis=each) for each in report.analyses]
    remarks += [Remark(kind="doubt", text=each) for each in understanding.doubts]
    remarks += [Remark(kind="not understood", text=each) for each in understanding.not_understood]
    about = _ABOUT.get(report.topic.about, "") if situation.complaining else ""
    if about or report.foreign:
        remarks.append(Remark(kind="help", text=about or FOREIGN))
    elif not (understanding.understood or report.analyses or understanding.doubts or _is_taken_otherwise(report)):
        remarks.append(Remark(kind="help", text=NOTHING_KNOWN))
    person = person_told(situation, report)
    changed = plant_events(situation, report)
    events = (*report_events(report), *changed, *person.events)
    return Turn(events=events, remarks=(*remarks, *_beyond(situation, changed), *person.remarks))


def _is_taken_otherwise(report: Report) -> bool:
    """Tell whether words say who somebody is, or are asked about because they may tell of a danger."""
    return bool(report.understanding.persons or report.understanding.dangers)


def _beyond(situation: Situation, changed: Sequence[PlantChanged | Disturbed]) -> tuple[Remark, ...]:
    """Say what to do where somebody did more than they may, or what the plant does not allow as it stands."""
    told = (text for each in changed for text in _warnings(situation, each))
    return tuple(Remark(kind="said", text=text) for text in told)


def _warnings(situation: Situation, changed: PlantChanged | Disturbed) -> Iterator[str]:
    book, own = situation.rule_book, situation.standing.state.competence
    if isinstance(changed, PlantChanged):
        state = book.states[changed.state]
        needed = [way.competence for way in state.changes if way.to == changed.value]
        who = min(needed, key=COMPETENCES.index, default=own)
        if not within(own, who):
            yield _not_for_them(f"{state.title} {changed.value}", who)
        return
    for name in changed.what:
        item = book.disturbances[name]
        if not within(own, item.competence):
            yield _not_for_them(item.title.capitalize(), item.competence)
        elif any(situation.plant[state] not in values for state, values in item.needs.items()):
            needs = item.needs.items()
            wanted = ", ".join(f"{book.states[state].title.lower()} {' or '.join(values)}" for state, values in needs)
            title = item.title.capitalize()
            yield f"{title}: that is done only with {wanted}. Stop, and touch nothing there until it is so."


def _not_for_them(what: str, who: Competence) -> str:
    return f"{what} is for {a_person(who)}: step back, touch nothing there, and fetch one before anything else."


def report_events(report: Report) -> tuple[Event, ...]:
    """Return what a report that was read adds to a case: its text with what was not understood, and what it says."""
    read = report.understanding
    text = TextRead(text=report.text, not_understood=read.not_understood, doubts=read.doubts)
    mentioned = (DangerMentioned(quote=each.quote, findings=each.findings) for each in read.dangers)
    return (text, *map(_as_kept, report.observations), *mentioned)


def _as_kept(observation: Observation) -> Observation:
    """Return an observation as a case keeps it: of words only the words."""
    return WordEvidence(report=observation.report) if isinstance(observation, WordEvidence) else observation


def plant_events(situation: Situation, report: Report) -> tuple[PlantChanged | Disturbed, ...]:
    """Return how the plant stands by what was told, and what others have changed that must be put back.

    Only what makes it less safe is taken from words. After a hazard it counts as well where it was supposed before.
    """
    read = report.understanding
    doubtful = situation.states_in_doubt
    changed = [(state, value) for state, value in read.plant if situation.plant[state] != value or state in doubtful]
    what = tuple(name for name in read.disturbed if name not in situation.disturbed)
    return (*situation.plant_changes(changed), *((Disturbed(step="", what=what),) if what else ()))


def person_told(situation: Situation, report: Report) -> Turn:
    """Return what somebody says of themselves: less than was known counts at once, more is asked back."""
    said = sorted(report.understanding.persons, key=lambda each: COMPETENCES.index(each.competence))
    if not said:
        return Turn()
    least, standing = said[0], situation.standing
    if within(standing.state.competence, least.competence):
        if standing.competence_said and standing.state.competence == least.competence:
            return Turn(remarks=(Remark(kind="said", text=f"{a_person(least.competence).capitalize()}, as before."),))
        text = f"“{least.quote}”: from here on nothing is proposed that needs more than {a_person(least.competence)}."
        return Turn(events=(CompetenceSaid(competence=least.competence),), remarks=(Remark(kind="said", text=text),))
    text = f"“{least.quote}”: that is asked back, and counts once you have said so there."
    claimed = CompetenceClaimed(quote=least.quote, competence=least.competence)
    return Turn(events=(claimed,), remarks=(Remark(kind="said", text=text),))


def dangers_told(situation: Situation, text: str) -> tuple[FindingSeen | DangerMentioned, ...]:
    """Return the dangers that a text tells of, or may: one in a note is not to be overlooked either."""
    findings = situation.rule_book.findings
    told = [each for each in read_words(situation, text).events if isinstance(each, FindingSeen | DangerMentioned)]
    return tuple(
        each
        for each in told
        if isinstance(each, DangerMentioned) or (each.present and findings[each.finding].keep_away)
    )
