"""Validations of steps by the rule book's own safeguards: what their words, tools and hazards call for is there."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES, Competence, a_person
from diagnose.rule_book.referring import Entries, Found, data_sheet_fits, hazards_known, reference
from diagnose.rule_book.safeguards import Safeguard, Where, may_stand_in, pattern, words_of
from diagnose.rule_book.work import Check, Work
from diagnose.yaml_places import KeyPath


@dataclass(frozen=True)
class Deed:
    """Something that people do: a check, a remedy, or a change of the plant, and where it is written.

    ``way_back`` are the sentences of the way back from a change; a check or remedy puts back what it ``disturbs``.
    """

    authored: Authored
    at: KeyPath
    title: str
    steps: tuple[str, ...]
    meets: tuple[str, ...]
    competence: Competence
    says_competence: bool
    way_back: tuple[str, ...] = ()
    step: Work | None = None
    disturbs: tuple[str, ...] = ()

    def problem(self, path: KeyPath, code: str, text: str, help: str) -> Problem:
        """Return a problem at a field of it."""
        return self.authored.problem((*self.at, *path), code, text, help)

    def needs(self, state: str) -> tuple[str, ...]:
        """Return how a state must stand for it."""
        return self.step.needs.get(state, ()) if self.step else ()

    def end(self, state: str) -> tuple[str, ...]:
        """Return how a state stands once it was done."""
        return (self.step.leaves[state],) if self.step and state in self.step.leaves else self.needs(state)

    def tools(self) -> tuple[str, ...]:
        """Return the tools that it takes."""
        return self.step.tools if self.step else ()

    @cached_property
    def words(self) -> frozenset[str]:
        """The words of its sentences."""
        return words_of(sentence for _, sentence in self.sentences())

    def sentences(self) -> Iterator[tuple[KeyPath, str]]:
        """Return its sentences with their places; a mere question has none."""
        if self.steps:
            yield ("title",), self.title
        for number, sentence in enumerate(self.steps):
            yield ("steps", number), sentence

    def asides(self) -> Iterator[tuple[KeyPath, str]]:
        """Return what a check asks and what it says of its answers: neither may tell people to do what nobody may."""
        if isinstance(self.step, Check):
            yield ("ask",), self.step.ask
            for number, outcome in enumerate(self.step.outcomes):
                yield ("outcomes", number, "means"), outcome.means


def deeds(book: RuleBook, entries: Entries) -> Iterator[Deed]:
    """Return all that people are told to do."""
    parts: tuple[tuple[str, Mapping[str, Work]], ...] = (("checks", book.checks), ("remedies", book.remedies))
    for part, steps in parts:
        for step in steps.values():
            authored = entries[part].get(step.id)
            if authored is not None:
                said = "competence" in authored.data
                yield Deed(
                    authored,
                    (),
                    step.title,
                    step.steps,
                    step.meets,
                    step.competence,
                    said,
                    step=step,
                    disturbs=step.disturbs,
                )
    for state in book.states.values():
        authored = entries["states"][state.id]
        for number, change in enumerate(state.changes):
            back = tuple(said for each in state.changes if each.from_ == change.to for said in each.steps)
            at = ("changes", number)
            who, disturbs = change.competence, change.disturbs
            yield Deed(authored, at, "", change.steps, change.meets, who, True, back, disturbs=disturbs)


_CLAUSE_END = re.compile(r"(?<![ad]\.c)[.;](?=\s|$)")
"""Where one statement of a sentence ends: what is harmless beside it excuses nothing in the next one."""


def said_in(where: Where, sentences: Iterable[tuple[KeyPath, str]]) -> tuple[KeyPath, str] | None:
    """Return the first phrase in these sentences that calls for a safeguard, with its place."""
    words, harmless = pattern(where.words), pattern(where.but_not)
    for path, sentence in sentences:
        for clause in _CLAUSE_END.split(sentence):
            found = words.search(clause)
            if found and not harmless.search(clause):
                return path, found.group()
    return None


def called_for(where: Where, deed: Deed) -> tuple[KeyPath, str] | None:
    """Return the first thing in a deed that calls for a safeguard, with its place, None where nothing does."""
    if may_stand_in(where.words, deed.words) and (said := said_in(where, deed.sentences())):
        return said
    for number, tool in enumerate(deed.tools()):
        if tool in where.tools or (where.other_tools_than and tool not in where.other_tools_than):
            return ("tools", number), tool
    for number, hazard in enumerate(deed.meets):
        if hazard in where.meets:
            return ("meets", number), hazard
    if deed.step and deed.step.id in where.ids:
        return ("id",), deed.step.id
    for state, values in where.needs.items():
        if set(values) & set(deed.needs(state)):
            return ("needs", state), f"{state}: {' or '.join(deed.needs(state))}"
    return None


def steps_are_safeguarded(book: RuleBook, entries: Entries) -> Found:
    """Every step and change of the plant has what the safeguards ask of it."""
    for deed in deeds(book, entries):
        for safeguard in book.safeguards.values():
            by = called_for(safeguard.where, deed)
            if by is None and safeguard.must.not_be:
                by = said_in(safeguard.where, deed.asides())
            if by is not None and called_for(safeguard.unless, deed) is None:
                for demand in _DEMANDS:
                    yield from demand(deed, safeguard, *by)


def _refused(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    if safeguard.must.not_be:
        yield deed.problem(path, "forbidden-deed", f"here {safeguard.title} (“{by}”), and nobody may", safeguard.write)


def _hazards(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    missing = [word for word in safeguard.must.meet if word not in deed.meets]
    one_of = safeguard.must.meet_one_of
    if one_of and not set(one_of) & set(deed.meets):
        missing.append(" or ".join(one_of))
    for word in missing:
        text = f"here {safeguard.title} (“{by}”), and `meets` does not name {word}"
        yield deed.problem(path, "unmet-hazard", text, safeguard.write)


def _competence(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    least = safeguard.must.competence
    if COMPETENCES.index(deed.competence) >= COMPETENCES.index(least):
        return
    if not deed.says_competence:  # told by itself as well, but this says how much it takes
        text = f"here {safeguard.title} (“{by}”), and nothing says that it takes {a_person(least)}"
        yield deed.problem(path, "unsaid-competence", text, safeguard.write)
        return
    text = f"here {safeguard.title} (“{by}”), which is not for {a_person(deed.competence)}"
    yield deed.problem(("competence",), "too-little-competence", text, safeguard.write)


def _plant(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    if deed.step is None:
        return
    for state, values in safeguard.must.needs.items():
        if not deed.needs(state) or not set(deed.needs(state)) <= set(values):
            text = f"here {safeguard.title} (“{by}”), and `needs` does not say {state}: {' or '.join(values)}"
            yield deed.problem(path, "unsafe-state", text, safeguard.write)
    for state, values in safeguard.must.end.items():
        if not deed.end(state) or not set(deed.end(state)) <= set(values):
            text = f"here {safeguard.title} (“{by}”), and at its end {state} is not {' or '.join(values)}"
            yield deed.problem(path, "unsafe-state", text, safeguard.write)
    for field, ruled_out in safeguard.must.not_when.items():
        if not set(ruled_out) <= set(deed.step.not_when.get(field, ())):
            text = f"here {safeguard.title} (“{by}”), and `not-when` does not say {field}: {' or '.join(ruled_out)}"
            yield deed.problem(path, "not-ruled-out", text, safeguard.write)


def _words(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    must, steps = safeguard.must, deed.steps
    here = f"here {safeguard.title} (“{by}”)"
    if must.begin_with and not (steps and pattern(must.begin_with).search(steps[0])):
        at: KeyPath = ("steps", 0) if steps else path
        yield deed.problem(at, "nobody-told", f"{here}, and the first step tells nobody", safeguard.write)
    if must.say and not any(pattern(must.say).search(each) for each in steps):
        yield deed.problem(path, "missing-precaution", f"{here}, and no step says what makes it safe", safeguard.write)


def _put_back(deed: Deed, safeguard: Safeguard, path: KeyPath, by: str) -> Found:
    here, must = f"here {safeguard.title} (“{by}”)", safeguard.must
    if set(must.disturb_one_of) & set(deed.disturbs):
        return
    if deed.step is not None:
        if must.disturb_one_of:
            text = f"{here}, and `disturbs` does not name {' or '.join(must.disturb_one_of)}"
            yield deed.problem(path, "unsaid-disturbance", text, safeguard.write)
    elif must.restore and not any(pattern(must.restore).search(each) for each in deed.way_back):
        yield deed.problem(path, "nothing-restored", f"{here}, and no step of the way back undoes it", safeguard.write)


_Demand = Callable[[Deed, Safeguard, KeyPath, str], Found]
_DEMANDS: tuple[_Demand, ...] = (_refused, _hazards, _competence, _plant, _words, _put_back)


def safeguards_refer(book: RuleBook, entries: Entries) -> Found:
    """Hazards, states, fields and disturbances that safeguards name exist; each calls for something somewhere."""
    for safeguard in book.safeguards.values():
        authored = entries["safeguards"][safeguard.id]
        for key, names in (("meet", safeguard.must.meet), ("meet-one-of", safeguard.must.meet_one_of)):
            yield from hazards_known(book, authored, ("must",), names, key)
        for number, name in enumerate(safeguard.must.disturb_one_of):
            at = ("must", "disturb-one-of", number)
            yield from reference(book, entries, ("safeguards", safeguard.id), at, name, "disturbances")
        for key, where in (("where", safeguard.where), ("unless", safeguard.unless)):
            yield from hazards_known(book, authored, (key,), where.meets)
            yield from _states_known(book, authored, (key, "needs"), where.needs)
            for number, name in enumerate(where.ids):
                part = "checks" if name in book.checks else "remedies"
                yield from reference(book, entries, ("safeguards", safeguard.id), (key, "ids", number), name, part)
        for demand, states in (("needs", safeguard.must.needs), ("end", safeguard.must.end)):
            yield from _states_known(book, authored, ("must", demand), states)
        yield from data_sheet_fits(book, authored, ("must", "not-when"), safeguard.must.not_when)
        if safeguard.where == Where():
            yield authored.problem(("where",), "dead-safeguard", "nothing calls for it", "write `words:` or `meets:`")


def _states_known(book: RuleBook, authored: Authored, at: KeyPath, needs: Mapping[str, tuple[str, ...]]) -> Found:
    for state, values in needs.items():
        known = book.states[state].values if state in book.states else ()
        for number, value in enumerate(values):
            if value not in known:
                help = did_you_mean(value, known) if known else did_you_mean(state, book.states)
                yield authored.problem((*at, state, number), "unknown-state", f"`{state}` is never `{value}`", help)
