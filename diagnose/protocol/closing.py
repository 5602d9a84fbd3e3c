"""What a case is closed with, checked against the rule book; what was not said is taken from the case itself."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

import msgspec

from diagnose.cases.administration import minutes_on_site
from diagnose.cases.events import Case, Closed
from diagnose.errors import BadInput
from diagnose.observations import RemedyTried
from diagnose.place import did_you_mean
from diagnose.protocol.leaving import faults_in, rank_of
from diagnose.protocol.situation import Situation
from diagnose.rule_book.book import RuleBook

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine


def closing(engine: Engine, case: Case, said: Closed) -> Closed:
    """Return what a case is closed with, and where its cause stood at the end.

    A remedy that is not said is the one that was proved to help in the case, and the proof is its own.

    Raises BadInput where something is named that the rule book does not have, or while a hazard is not over.
    """
    book = engine.rule_book
    nobody_in_danger(Situation(engine, case))
    names_known(book, said)
    remedy, proof = said.remedy, said.proof
    if not (remedy or said.remedy_words):
        remedy = helped(Situation(engine, case), said.cause)
    if not proof and remedy and (said.reading or not said.remedy):
        proof = book.remedies[remedy].proved_by
    if said.minutes is not None:
        minutes_on_site(said.minutes)
    rank, probability = rank_of(engine, case, said.cause) if said.cause else (0, None)
    return msgspec.structs.replace(said, remedy=remedy, proof=proof, rank=rank, probability=probability)


def names_known(book: RuleBook, said: Closed) -> None:
    """Refuse a cause, remedy or proof that the rule book does not have.

    Raises BadInput, with what may be meant.
    """
    if said.outcome == "found":
        _known("cause", said.cause, book.causes)
    if said.remedy:
        known_remedy(book, said.remedy)
    if said.proof:
        _known("check", said.proof, book.checks)


def nobody_in_danger(situation: Situation) -> None:
    """Refuse to close a case in which somebody may be in danger still.

    Raises BadInput with what has to be said first.
    """
    findings = situation.rule_book.findings
    first = situation.danger_in_doubt
    open_still = [f"a hazard is not over ({findings[name].title})" for name in situation.hazards]
    open_still += [f"nobody has said whether “{first.quote}” tells of a danger"] if first else []
    if open_still:
        name = situation.case.name
        raise BadInput(f"{'; '.join(open_still)}; say so first: diagnose interview --resume {name}")


def helped(situation: Situation, cause: str = "") -> str:
    """Return the remedy that was proved to help last, and first of all one that helps the ``cause``; "" where none was.

    What mended the first of two faults is no remedy of the second one.
    """
    book = situation.rule_book
    tried = [each for each in situation.standing.observations if isinstance(each, RemedyTried)]
    names = [each.remedy for each in tried if each.verdict != "not cured" and each.remedy in book.remedies]
    of_cause = [name for name in names if cause in {each.id for each in book.helped_by(name)}]
    if of_cause or len(faults_in(situation.case)) == 1:
        names = of_cause or names
        return names[-1] if names else ""
    return ""


def known_remedy(book: RuleBook, name: str) -> str:
    """Return the id of a remedy.

    Raises BadInput, with what may be meant, for one that the rule book does not have.
    """
    return _known("remedy", name, book.remedies)


def id_or_words(text: str, known: Collection[str]) -> tuple[str, str]:
    """Return an id that the rule book has, or else words; one word that is no id is a mistake of its own.

    >>> id_or_words("clean-it", ["clean-it"]), id_or_words("hit it hard", ["clean-it"])
    (('clean-it', ''), ('', 'hit it hard'))
    """
    return ("", text) if " " in text and text not in known else (text, "")


def closed_in_words(book: RuleBook, closed: Closed) -> list[tuple[str, str]]:
    """Return what a case was closed with, line by line: what it is, and what of it."""
    cause = book.causes[closed.cause].title if closed.cause in book.causes else closed.words or closed.cause
    remedy = book.remedies[closed.remedy].title if closed.remedy in book.remedies else closed.remedy_words
    proof = book.checks[closed.proof].title if closed.proof in book.checks else ""
    place = f"number {closed.rank} of the causes when it was closed" if closed.rank else ""
    lines = {
        "Cause": {"found": cause, "not found": "not found", "not listed": f"{cause} (not in the rule book)"}[
            closed.outcome
        ],
        "Ranked": place,
        "Remedy": remedy,
        "Proof": ": ".join(filter(None, (proof, closed.reading))),
        "On site": "" if closed.minutes is None else f"{closed.minutes:g} min",
        "Parts": "; ".join(closed.parts),
        "Closed by": closed.by,
    }
    return [(name, text) for name, text in lines.items() if text]


def _known(what: str, name: str, known: Mapping[str, Any]) -> str:
    """Return a name that the rule book has.

    Raises BadInput, with what may be meant, for one that it does not have.
    """
    if name not in known:
        part = "remedies" if what == "remedy" else f"{what}s"
        listed = f"`diagnose rules ids {part}` lists them; what none of them is, say in words"
        raise BadInput(f"the rule book has no {what} `{name}`: {did_you_mean(name, known, listed)}")
    return name
