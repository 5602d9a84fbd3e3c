"""What a session consists of: observations in the order in which they were made, and how the plant stands."""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

from diagnose.rule_book.book import RuleBook, WayOfReading
from diagnose.rule_book.competence import Competence
from diagnose.rule_book.patterns import ComparedAt
from diagnose.rule_book.plant import as_it_can_stand
from diagnose.rule_book.quantities import Value


class FindingSeen(msgspec.Struct, frozen=True, kw_only=True, tag="finding", tag_field="kind", omit_defaults=True):
    """Somebody says that a finding is present or absent; ``quote`` are the words.

    ``heard`` is the way in which it was read from words of their own, which may be misread; empty for an answer.
    """

    finding: str
    present: bool
    quote: str = ""
    heard: WayOfReading | Literal[""] = ""


class Measurement(msgspec.Struct, frozen=True, kw_only=True, tag="measured", tag_field="kind", omit_defaults=True):
    """Somebody says what a quantity is, in SI units (or in a word); ``quote`` are the words.

    ``heard``: it was read from words of their own, and not taken here.
    """

    quantity: str
    value: Value
    quote: str = ""
    heard: bool = False


class CheckDone(msgspec.Struct, frozen=True, kw_only=True, tag="check", tag_field="kind", omit_defaults=True):
    """A check was done and had this outcome."""

    check: str
    answer: str


class RemedyTried(msgspec.Struct, frozen=True, kw_only=True, tag="remedy", tag_field="kind", omit_defaults=True):
    """A remedy was carried out and its proof made.

    ``cured``: proved, and the complaint is gone; ``partly``: proved, but something is still wrong; ``not cured``:
    all is as it was.
    """

    remedy: str
    verdict: Literal["cured", "partly", "not cured"]


class WordEvidence(msgspec.Struct, frozen=True, kw_only=True, tag="worded", tag_field="kind", omit_defaults=True):
    """How like a report is to what the rule book says of each cause, in decibans, and by which ``words``.

    ``like`` is the text that it comes nearest to in meaning, where that was looked at.

    Causes that are not named stay as they are. A later one replaces it, so whoever adds to a ``report`` weighs it
    together with what was told before. With the report alone it waits to be weighed: so it stands in a case, since the
    rest follows from the rule book.
    """

    decibans: dict[str, float] = {}
    words: dict[str, tuple[str, ...]] = {}
    report: str = ""
    like: dict[str, str] = {}


class Compared(msgspec.Struct, frozen=True, kw_only=True, tag="compared", tag_field="kind", omit_defaults=True):
    """Readings were compared: how well each mechanism accounts for them, in decibans below the one that does best.

    ``with_what`` is what the meter is compared with, ``between`` where a cause may sit that shows in it. ``says`` are
    the findings that were read off the same readings, ``quote`` their figures. Mechanisms that cannot show there are
    left out. A later comparison with the same thing replaces it.
    """

    with_what: ComparedAt
    between: tuple[ComparedAt, ...]
    decibans: dict[str, float]
    says: tuple[str, ...] = ()
    quote: str = ""


Observation: TypeAlias = FindingSeen | Measurement | CheckDone | RemedyTried | WordEvidence | Compared


class State(msgspec.Struct, frozen=True, kw_only=True):
    """How the plant stands, what the person may do and has, and what is not to be proposed again.

    ``plant`` maps each state to its value; an empty mapping means that all stand as they start. ``set_aside`` are
    checks and remedies that were answered "unknown", skipped or declined; no step is proposed that brings up one of the
    cautions in ``avoided``. ``not_known`` are fields of the data sheet that were asked for and that nobody could fill
    in: they count as whatever forbids a step. ``first`` are checks that come before any other step, after a hazard.
    """

    plant: dict[str, str] = {}
    competence: Competence = "skilled"
    missing_tools: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    avoided: tuple[str, ...] = ()
    not_known: tuple[str, ...] = ()
    first: tuple[str, ...] = ()

    def standing(self, rule_book: RuleBook) -> dict[str, str]:
        """Return the value of every state of the rule book; one that it does not have (any more) counts as initial.

        So does one that cannot hold as the other states stand: a case kept from before may say so.
        """
        said = {name: self.plant.get(name, state.initial) for name, state in rule_book.states.items()}
        known = {
            name: each if each in rule_book.states[name].values else rule_book.states[name].initial
            for name, each in said.items()
        }
        return as_it_can_stand(rule_book.states, known)
