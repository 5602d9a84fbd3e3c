"""What the reading of a proof says: that all is well, that it is not, or nothing that the rules could tell."""

from __future__ import annotations

from diagnose.protocol.prompts import ReadingOfProof
from diagnose.protocol.replies import NotDone, Reply, Verdict
from diagnose.protocol.situation import Situation
from diagnose.rule_book.calculated import with_calculated
from diagnose.rule_book.verdicts import fired_by
from diagnose.rule_book.work import Check, Remedy

VERDICTS = {
    "cured": "proved, and the complaint is gone",
    "partly": "proved, but something is still wrong",
    "not cured": "not cured: everything is as before",
}

JUDGED = {
    "cured": "the reading is good, and the complaint is gone",
    "partly": "the reading is good, but something is still wrong",
    "not cured": "the reading is not good",
}
"""The same where nobody but the person can say whether a reading is good."""

UNPROVABLE = "it cannot be proved now"
NOBODY_KNOWS = "nobody here can say whether it is good: it stays unproved"


def reading_of_proof(situation: Situation, remedy: Remedy, check: Check) -> ReadingOfProof:
    """Return what the rules make of the reading that was taken for a proof.

    It is not good where it shows what the causes behind the remedy show, or what the check looks for; good where rules
    that speak of it find nothing of the kind, and at least one of them says that something is not so.
    """
    if not check.measures:
        return ""
    taken = {name: value for name, value in situation.standing.pending_readings.items() if value is not None}
    if check.measures not in taken:
        return "not taken"
    book = situation.rule_book
    calculated = {name for name, item in book.quantities.items() if item.calculate}
    known = {name: value for name, value in situation.diagnosis.values.items() if name not in calculated}
    rules = fired_by(book, check.measures, situation.diagnosis.findings, with_calculated(book, {**known, **taken}))
    of_cause = {name for cause in book.helped_by(remedy.id) for name in cause.shows}
    looked_for = {name for outcome in check.outcomes for name in (*outcome.present, *outcome.absent)}
    wrong = {name for rule in rules for name in rule.present if book.findings[name].says_what_is_wrong}
    if wrong & (of_cause | looked_for):
        return "not good"
    right = {name for rule in rules for name in rule.absent}
    return "good" if right & (of_cause | looked_for) else "open"


def question_of_proof(situation: Situation, check: Check, reading: ReadingOfProof) -> str:
    """Return what is asked after a proof, in words."""
    if reading in ("", "good"):
        return "Did it cure the fault?"
    if reading == "not taken":
        return "The reading could not be taken. Is it known otherwise that all is well, and is the complaint gone?"
    value = situation.standing.pending_readings.get(check.measures)
    quantity = situation.rule_book.quantities[check.measures]
    shown = f"{quantity.title}: {quantity.shown(value)}" if value is not None else quantity.title
    if reading == "not good":
        return f"That reading is not as it should be ({shown}), so it is not cured. What is left of the fault?"
    return f"No limit is known for this reading ({shown}). Is it good, and is the complaint gone?"


def answers_of_proof(reading: ReadingOfProof) -> list[tuple[str, Reply]]:
    """Return the answers on offer after a proof: *cured* only where its reading does not say otherwise."""
    words = JUDGED if reading == "open" else VERDICTS
    offered = {word: text for word, text in words.items() if not (word == "cured" and reading == "not good")}
    if reading == "not good":
        offered["partly"] = "it is better, but something is still wrong"
    replies: list[tuple[str, Reply]] = [(text, Verdict(verdict=word)) for word, text in offered.items()]
    return [*replies, (NOBODY_KNOWS if reading == "open" else UNPROVABLE, NotDone())]
