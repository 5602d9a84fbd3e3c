"""What follows from what is known: inference rules, points of a review, contradictions in a data sheet."""

from __future__ import annotations

import msgspec

from diagnose.entry import Entry
from diagnose.rule_book.condition_types import Condition


class Example(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """What a rule is given, by name, and whether it then fires."""

    given: dict[str, str | float | bool]
    fires: bool


class InferenceRule(Entry, frozen=True, kw_only=True):
    """From observations and findings to findings.

    One that is ``doubtful`` only rules something out, and its figure is still one to look at again.
    """

    when: Condition
    present: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    doubtful: bool = False
    because: str
    examples: tuple[Example, ...] = ()


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
    """Entries of a data sheet that cannot all be right; told at ``field``.

    Where ``adds`` is given, the field is only incomplete: that word is added to those that it has; a field that holds
    one word takes it where it was left blank. ``overrules`` is the word that counts until that is cleared up, in
    place of the one that the field holds: the worse of the two.
    """

    when: Condition
    field: str
    because: str
    help: str = ""
    adds: str = ""
    overrules: str = ""
