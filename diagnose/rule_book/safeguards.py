"""What a step must have where its words, tools, states or hazards call for it; an author's own list, in YAML."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

import msgspec

from diagnose.entry import Entry
from diagnose.rule_book.competence import Competence


class Where(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True, omit_defaults=True):
    """What calls for a safeguard: any one of these, in a step or in a change of the plant.

    ``words`` are phrases in its sentences (a sentence with one of ``but_not`` does not count), ``tools`` those that it
    takes, ``other_tools_than`` any that is not among these, ``needs`` states as it needs them, ``meets`` its hazards;
    ``ids`` are checks and remedies by name.

    In a phrase ``*`` stands for any ending, ``#`` for a figure, ``/`` between words for either, and ``...`` for
    anything in the same sentence.
    """

    words: tuple[str, ...] = ()
    but_not: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    other_tools_than: tuple[str, ...] = ()
    needs: dict[str, tuple[str, ...]] = {}
    meets: tuple[str, ...] = ()
    ids: tuple[str, ...] = ()


class Must(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True, omit_defaults=True):
    """What the step must then have.

    All hazards of ``meet`` and one of ``meet_one_of``; at least this ``competence``; the plant as in ``needs``, and at
    the end (by what it needs and leaves) as in ``end``; the meters in ``not_when`` ruled out; a first sentence with one
    of ``begin_with``, and one with one of ``say``. What it takes apart is put back: a check or remedy names one of
    ``disturb_one_of`` under ``disturbs``, which says how and is asked for in time; a change of the plant does so, too,
    or has a sentence with one of ``restore`` on its way back. What must ``not_be`` is refused whatever else the step
    has.
    """

    meet: tuple[str, ...] = ()
    meet_one_of: tuple[str, ...] = ()
    competence: Competence = "ordinary"
    needs: dict[str, tuple[str, ...]] = {}
    end: dict[str, tuple[str, ...]] = {}
    not_when: dict[str, tuple[str, ...]] = {}
    begin_with: tuple[str, ...] = ()
    say: tuple[str, ...] = ()
    disturb_one_of: tuple[str, ...] = ()
    restore: tuple[str, ...] = ()
    not_be: bool = False


class Safeguard(Entry, frozen=True, kw_only=True):
    """A rule of safety for whoever writes steps: ``where`` it holds (not ``unless``), and what the step ``must`` have.

    ``title`` says what is done there, as the end of "here ..."; ``write`` what to write, in words.
    """

    title: str
    where: Where
    unless: Where = Where()
    must: Must
    write: str


@cache
def pattern(phrases: tuple[str, ...]) -> re.Pattern[str]:
    """Return what finds any of these phrases in a sentence.

    >>> found = pattern(("loosen/open ... flange*", "send # mA"))
    >>> [bool(found.search(each)) for each in ("Open both flanges.", "Send 12 mA.", "Reopen. Look at the flange.")]
    [True, True, False]
    """
    made = [r"(?<!\w)" + _of_phrase(phrase) + r"(?!\w)" for phrase in phrases]
    return re.compile("|".join(made) or r"(?!)", re.IGNORECASE)


_WORDS = re.compile(r"\w+")


def words_of(sentences: Iterable[str]) -> frozenset[str]:
    """Return the words of these sentences, in small letters.

    >>> sorted(words_of(["Send 12 mA."]))
    ['12', 'ma', 'send']
    """
    return frozenset(word for each in sentences for word in _WORDS.findall(each.lower()))


def may_stand_in(phrases: tuple[str, ...], words: frozenset[str]) -> bool:
    """Tell whether any of these phrases can stand in a text of these words: quick, and never wrong with a no.

    >>> [may_stand_in(("loosen/open ... flange*",), words_of([text])) for text in ("Flanges first.", "Open it.")]
    [False, True]
    """
    whole, beginnings = _first_words(phrases)
    return not whole.isdisjoint(words) or (bool(beginnings) and any(word.startswith(beginnings) for word in words))


@cache
def _first_words(phrases: tuple[str, ...]) -> tuple[frozenset[str], tuple[str, ...]]:
    """Return what the first words of phrases are, whole ones and beginnings."""
    whole, beginnings = set[str](), set[str]()
    for each in (each.lower() for phrase in phrases for each in phrase.split()[0].split("/")):
        first = _WORDS.match(each)
        if first is not None and first[0] == each:
            whole.add(each)
        else:
            beginnings.add(first[0] if first is not None else "")
    return frozenset(whole), tuple(beginnings)


def _of_phrase(phrase: str) -> str:
    made = ""
    for word in phrase.split():
        if word == "...":
            made += r"(?:[^\w.;]+(?:[ad]\.c\.|[^\s;]*[^\s.;]))*?"  # neither a figure nor "a.c." ends a sentence
            continue
        either = "|".join(re.escape(each).replace(r"\*", r"\w*").replace(r"\#", r"[\d.]+") for each in word.split("/"))
        made += (r"[^\w.;]+" if made else "") + f"(?:{either})"
    return made
