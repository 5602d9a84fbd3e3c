"""What a person does at the plant: checks, which find something out, and remedies, which put it right."""

from __future__ import annotations

from typing import Literal

import msgspec

from diagnose.entry import Entry
from diagnose.rule_book.competence import Competence


class Outcome(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """One possible answer of a check, what it sets, and what it means in words.

    ``disturbs`` is what the plant then turns out to be otherwise than it should (damage that is not made good).
    One that is ``standing_only`` makes sense only for a fault that is there all the time ("unsteady all the time"); it
    is not offered where the fault is known to come and go.
    """

    answer: str
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    means: str = ""
    standing_only: bool = False
    disturbs: tuple[str, ...] = ()


class Step(Entry, frozen=True, kw_only=True):
    """What checks and remedies share: something a person does at the plant.

    ``needs`` names the value (or values) of each state that the step needs. ``meets`` names hazards that the step
    meets beyond those that its state brings. ``applies`` limits it to meters whose data sheet does not contradict;
    ``not_when`` takes it out where the data sheet says so. ``leaves`` names the states that it leaves otherwise than it
    needs them (supply off to begin with, switched on at its end): what comes next starts from there.
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
    leaves: dict[str, str] = {}


class Disturbance(Step, frozen=True, kw_only=True):
    """What a check or remedy leaves otherwise than it was (a lead off, a loop in manual) until it is put back.

    ``title`` is said on the status line; ``steps``, ``minutes``, ``needs``, ``meets`` and ``competence`` are those of
    putting it back. ``holds`` is how the plant must stand as long as it is not (nothing is switched on while the
    protective earth is off). What ``waits`` (a loop in manual, until the meter reads again) comes last: no step has the
    plant changed for it, so that it stays as it is until the plant stands as it ``needs``, a proof is made or all ends.
    It is not there on a meter that it does not apply to. ``told_as`` are the phrases in which people say that somebody
    has changed it already: it is then put back, or handed over, like what a step of this case has changed.
    """

    holds: dict[str, tuple[str, ...]] = {}
    waits: bool = False
    told_as: tuple[str, ...] = ()


class Once(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What is done once, and a second time only after one of the checks under ``unless`` was made.

    ``told_by`` are findings that say that it was done before (a new fuse blew again).
    """

    unless: tuple[str, ...]
    told_by: tuple[str, ...] = ()


class Work(Step, frozen=True, kw_only=True):
    """What checks and remedies share beyond a step: what they disturb, and whether they are done but once."""

    disturbs: tuple[str, ...] = ()
    once: Once | None = None


class Check(Work, frozen=True, kw_only=True):
    """Something a person does to learn findings: by its outcomes, by a measured quantity, or both.

    One that ``only_proves`` is for after a remedy or a hazard, and never proposed to find a cause. At one that
    ``takes`` pairs of readings (against a reference; at the control system or a counter against the display) or a log,
    these may be given in place of an answer, and are analysed.
    One that ``provokes`` brings on a fault that comes and goes (at once: a tap, a wiggle), or watches for it (in time:
    a recorder, notes); it is not offered where the fault is known to be there all the time.
    """

    ask: str
    only_proves: bool = False
    provokes: Literal["", "at once", "in time"] = ""
    measures: str = ""
    expect: str = ""
    takes: Literal["", "reference", "control-system", "counter", "log"] = ""
    outcomes: tuple[Outcome, ...] = ()


class Remedy(Work, frozen=True, kw_only=True):
    """What puts a cause right, and the check that proves it.

    ``works`` is the probability that, carried out, it cures its cause; ``escalates`` marks one that only fetches
    somebody who knows more. ``big`` says whether it takes so much that words alone are no reason for it; where it says
    nothing, the settings of the rule book do (``big-remedies``). ``interim`` names another remedy that does for now:
    quick, reversible, and done first, so that the lasting one can wait for a shutdown. ``hides`` are causes whose
    complaint it takes away and which it leaves as they are: they are ruled out before it.
    """

    proved_by: str
    parts: tuple[str, ...] = ()
    works: float = 0.95
    escalates: bool = False
    big: bool | None = None
    interim: str = ""
    hides: tuple[str, ...] = ()
